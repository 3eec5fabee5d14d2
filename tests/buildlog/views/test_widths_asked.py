"""What the entry of widths asks about, and what it refuses."""

import re
import uuid

import pytest

from buildlog.models import Reading
from tests.buildlog.views.test_widths import posted, typed_figures
from tests.factories import MM, ReadingFactory


def test_odd_figure_is_asked_about_beside_its_field_while_the_good_ones_are_kept(hull, client_of, owner, widths_url):
    answer = client_of(owner).post(widths_url, posted(at0="5.02", at1="9.60"))

    page = answer.content.decode()
    assert answer.status_code == 200
    assert typed_figures(hull) == [("F", "5.02", 5_020_000)]
    assert "9.60 is" in page
    assert 'value="9.60"' in page
    assert 'name="at0-kept"' in page


@pytest.mark.parametrize(
    ("typed", "answer"),
    [
        ("9.45", "9.45 in at full size"), ("0.197", "0.197 in on the model"), ("50", "5 mm on the model"),
    ],
    ids=["inches at full size", "decimal inches", "point forgotten"],
)  # fmt: skip
def test_figure_that_looks_like_another_unit_offers_it_and_takes_it(
    hull, client_of, owner, widths_url, typed, answer
):
    browser = client_of(owner)

    page = browser.post(widths_url, posted(at1=typed)).content.decode()
    offered = re.findall(r'name="at1-take" value="([^"]+)"', page)
    browser.post(widths_url, posted(at1=typed) | {"at1-take": offered[0]})

    assert offered[0] == answer
    assert [round(nm / MM, 1) for _, _, nm in typed_figures(hull)] == [5.0]


def test_odd_figure_is_kept_with_a_reason_and_the_reason_stays_with_it(hull, client_of, owner, widths_url):
    client_of(owner).post(widths_url, posted(at1="6.40") | {"at1-keep": "the wood was wider here"})

    reading = Reading.objects.get(build=hull.build)
    assert (reading.value_nm, reading.kept_reason) == (6_400_000, "the wood was wider here")


def test_figure_unlike_the_builder_s_own_is_asked_about_though_near_the_plan(hull, client_of, owner, widths_url):
    for number in range(12):
        ReadingFactory(
            build=hull.build, opening=hull.opening, strake=hull.strakes[str(number % 4 + 2)],
            station=hull.stations[number // 4], value_nm=5 * MM + (number % 2) * 10_000, person=hull.person,
        )  # fmt: skip

    page = client_of(owner).post(widths_url, posted(at1="5.40")).content.decode()

    assert "5.40 is 0.40 off the plan (5.00); yours are mostly within" in page


@pytest.mark.parametrize(
    "typed",
    ["NaN", "inf", "-5", "0", "1e3", "५.००", "5.0.0", "five", "9" * 400, "5_000", "0.0000001", "٤٫٧"],
)
def test_figure_no_person_would_read_is_refused_and_staystyped_figures(hull, client_of, owner, widths_url, typed):
    answer = client_of(owner).post(widths_url, posted(at0="5.01", at1=typed))

    page = answer.content.decode()
    assert answer.status_code == 200
    assert typed_figures(hull) == [("F", "5.01", 5_010_000)]
    assert f'value="{typed}"' in page
    assert 'class="err"' in page


def test_figure_for_a_station_that_is_not_there_is_refused_by_name(hull, client_of, owner, widths_url):
    page = client_of(owner).post(widths_url, posted(at0="5.01", at77="4.76")).content.decode()

    assert "There is no station here for at77; its figure 4.76 was not kept." in page
    assert typed_figures(hull) == [("F", "5.01", 5_010_000)]


@pytest.mark.parametrize("field", ["damp", "stage"])
def test_wood_and_plank_have_to_be_said_and_nothing_typed_is_lost(hull, client_of, owner, widths_url, field):
    data = posted(at0="5.01")
    del data[field]

    page = client_of(owner).post(widths_url, data).content.decode()

    assert 'value="5.01"' in page
    assert "Say whether the" in page
    assert typed_figures(hull) == []


def test_same_name_with_another_figure_is_a_conflict_that_shows_both(hull, client_of, owner, widths_url):
    name = str(uuid.uuid4())
    browser = client_of(owner)
    browser.post(widths_url, posted(at0="5.01") | {"at0-uuid": name})

    answer = browser.post(widths_url, posted(at0="5.03", at1="5.00") | {"at0-uuid": name})

    page = answer.content.decode()
    assert answer.status_code == 409
    assert "This reading was already sent with another figure." in page
    assert '<dd class="fig">5.01</dd>' in page
    assert '<dd class="fig">5.03</dd>' in page
    assert 'value="5.03"' in page
    assert name not in page
    assert typed_figures(hull) == [("F", "5.01", 5_010_000), ("M", "5.00", 5_000_000)]


def test_json_conflict_and_question_name_the_field(hull, client_of, owner, widths_url):
    name, browser, json = str(uuid.uuid4()), client_of(owner), {"Accept": "application/json"}
    browser.post(widths_url, posted(at0="5.01") | {"at0-uuid": name})

    conflict = browser.post(widths_url, posted(at0="5.03") | {"at0-uuid": name}, headers=json)
    asked = browser.post(widths_url, posted(at1="9.60", at2="x"), headers=json)

    assert conflict.status_code == 409
    assert conflict.json()["conflicts"]["at0"]["theirs"] == "5.01"
    assert asked.status_code == 422
    assert list(asked.json()["asks"]) == ["at1"]
    assert list(asked.json()["refused"]) == ["at2"]


def test_takes_that_disagree_ask_for_a_third(client_of, owner, widths_url, widths_saved_url):
    browser = client_of(owner)
    browser.post(widths_url, posted(at0="4.95", at0b="5.15"))

    page = browser.get(widths_saved_url).content.decode()

    assert "Two takes at F do not agree: 4.95 and 5.15. Take a third." in page


@pytest.mark.parametrize(
    ("typed", "offered"),
    [("5.00", "5.00 mm"), ("500", "5.00 mm"), ("1.97", "0.197 in"), ("0.197", "")],
    ids=["mm with its point", "mm without", "point forgotten", "as it should be"],
)
def test_mm_typed_on_a_caliper_of_inches_is_asked_about(hull, client_of, owner, widths_url, typed, offered):
    hull.caliper.reading_unit = "in"
    hull.caliper.save()

    page = client_of(owner).post(widths_url, posted(at1=typed), follow=True).content.decode()

    found = re.findall(r'name="at1-take" value="([^"]+)"', page)
    assert bool(found) == bool(offered)
    if offered:
        assert Reading.objects.filter(build=hull.build).count() == 0
        client_of(owner).post(widths_url, posted(at1=typed) | {"at1-take": found[0]})
        (reading,) = Reading.objects.filter(build=hull.build)
        assert abs(reading.value_nm - 5_000_000) < 10_000


@pytest.mark.parametrize("typed", ["197", "0.197"], ids=["bare figures", "with the point"])
def test_inches_typed_on_a_caliper_of_mm_are_asked_about(hull, client_of, owner, widths_url, typed):
    page = client_of(owner).post(widths_url, posted(at1=typed)).content.decode()

    found = re.findall(r'name="at1-take" value="([^"]+)"', page)
    client_of(owner).post(widths_url, posted(at1=typed) | {"at1-take": found[0]})
    (reading,) = Reading.objects.filter(build=hull.build)
    assert abs(reading.value_nm - 5_000_000) < 10_000
