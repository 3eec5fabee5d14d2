"""The gap check: the way of reading asked, jaws challenged, two takes compared, the verdict at the end."""

import re

import pytest
from django.urls import reverse

from buildlog.forms.gaps import chord_short_mm
from buildlog.models import Reading
from tests.hulls import hang

NAMES = ["gaps-record", "gaps-saved", "gaps-redraw"]


@pytest.fixture
def urls(hull):
    return {name: reverse(name, args=[hull.build.uuid, hull.opening.uuid]) for name in NAMES}


def _post(method="paper_strip", **at):
    return {"method": method} | at


def test_chord_of_24_mm_on_a_bilge_of_30_mm_reads_63_hundredths_short():
    # 24 mm along a radius of 30 mm is 0.8 rad; the chord is 60 sin 0.4 = 23.365 (worked by hand).
    assert chord_short_mm(24.0) == pytest.approx(0.635, abs=0.001)
    # One plank of 4.76 mm: 0.005 mm, which nobody sees.
    assert chord_short_mm(4.76) == pytest.approx(0.005, abs=0.001)


def test_page_asks_the_method_and_shows_what_is_reckoned(client_of, owner, urls):
    page = client_of(owner).get(urls["gaps-record"]).content.decode()

    assert re.findall(r'name="method" value="(\w+)"', page) == ["paper_strip", "tape", "dividers", "jaws"]
    assert re.findall(r'data-wanted="([\d.]+)"', page) == ["25.00", "25.00", "25.00"]


def test_gaps_are_kept_and_the_verdict_follows_with_its_sum(hull, client_of, owner, urls):
    browser = client_of(owner)

    answer = browser.post(urls["gaps-record"], _post(at0="24.6", at1="2460", at2="24,6"))

    page = browser.get(answer.url).content.decode()
    assert answer.url == urls["gaps-saved"]
    assert (
        list(Reading.objects.values_list("value_nm", "method", "instrument__name"))
        == [(24_600_000, "paper_strip", "Paper strip")] * 3
    )
    assert 'class="verdict verdict-' in page
    assert reverse("opening-sums", args=[hull.build.uuid, hull.opening.uuid]) in page
    assert "short 0.40" in page


def test_gap_far_from_the_reckoned_one_is_asked_about(client_of, owner, urls):
    page = client_of(owner).post(urls["gaps-record"], _post(at0="12.5")).content.decode()

    assert "12.5 is half of the gap reckoned (25.00)." in page
    assert Reading.objects.count() == 0


def test_method_has_to_be_said_and_figures_stay(client_of, owner, urls):
    page = client_of(owner).post(urls["gaps-record"], {"at0": "24.6"}).content.decode()

    assert "Say how the gap was read" in page
    assert 'value="24.6"' in page
    assert Reading.objects.count() == 0


def test_jaws_across_several_strakes_are_challenged_with_the_chord(client_of, owner, urls):
    browser = client_of(owner)

    page = browser.post(urls["gaps-record"], _post("jaws", at0="24.00", at1="25.00")).content.decode()

    # 25 mm along a radius of 30: 25 - 60 sin(25/60) = 0.717.
    assert "On a bilge of 30 mm radius, 25.00 would read 0.72 short." in page
    assert 'value="24.00"' in page
    assert Reading.objects.count() == 0
    browser.post(urls["gaps-record"], _post("jaws", at0="24.00") | {"method-take": "tape"})
    assert Reading.objects.get().method == "tape"


def test_jaws_are_kept_with_a_reason(client_of, owner, urls):
    client_of(owner).post(
        urls["gaps-record"], _post("jaws", at0="24.00") | {"method-keep": "flat bottom here"}
    )

    reading = Reading.objects.get()
    assert (reading.method, reading.kept_reason, reading.instrument.name) == (
        "jaws",
        "flat bottom here",
        "Caliper",
    )


def test_jaws_across_the_last_strake_are_fine(hull, client_of, owner, urls, clock):
    for label in ("1", "2", "5", "4"):
        hang(hull, label, clock())

    client_of(owner).post(urls["gaps-record"], _post("jaws", at0="5.02"))

    assert Reading.objects.get().method == "jaws"


def test_two_takes_over_a_fifth_of_a_millimetre_apart_are_asked_for_again(client_of, owner, urls):
    browser = client_of(owner)

    browser.post(urls["gaps-record"], _post(at0="24.60", at0b="24.85", at1="24.60", at1b="24.75"))

    page = browser.get(urls["gaps-saved"]).content.decode()
    assert "Two takes at F: 24.60 and 24.85." in page
    assert "Take both again." in page
    assert "Two takes at M" not in page


def test_station_that_is_closed_is_not_asked(hull, client_of, owner, urls, clock):
    for label in hull.strakes:
        hang(hull, label, clock())

    page = client_of(owner).get(urls["gaps-record"]).content.decode()

    assert "The gap is closed here." in page
    assert "data-name" not in page


@pytest.mark.parametrize("typed", ["NaN", "-3", "0", "gap", "1e9"])
def test_gap_no_person_would_read_is_refused_and_stays(client_of, owner, urls, typed):
    page = client_of(owner).post(urls["gaps-record"], _post(at0=typed, at1="24.6")).content.decode()

    assert f'value="{typed}"' in page
    assert Reading.objects.count() == 1


def test_htmx_answer_is_the_fragment(client_of, owner, urls):
    answer = client_of(owner).post(urls["gaps-record"], _post(at0="24.6"), headers={"HX-Request": "true"})

    assert answer["HX-Push-Url"] == urls["gaps-saved"]
    assert answer.content.decode().lstrip().startswith('<section id="gaps"')


def test_one_more_take_is_drawn_without_writing(client_of, owner, urls):
    page = client_of(owner).post(urls["gaps-redraw"], _post(at0="24.6", again="at0")).content.decode()

    assert 'name="at0b"' in page
    assert 'value="24.6"' in page
    assert Reading.objects.count() == 0
