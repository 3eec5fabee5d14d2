"""Recording widths: kept once, asked about, never lost; two people, a double tap, a lost answer."""

import html
import re
import uuid

import pytest
from django.urls import reverse

from buildlog.actions.planks import hang_strake
from buildlog.measuring.openings import facts_of
from buildlog.measuring.reviews import trouble_of
from buildlog.models import Plank, Reading
from buildlog.queries.readings import counting_widths
from tests.factories import NOON, PhotoFactory, ReadingFactory
from tests.hulls import lay_down_hull


def posted(**at):
    return {"damp": "dry", "stage": "cut"} | at


def typed_figures(hull):
    return sorted(Reading.objects.filter(build=hull.build).values_list("station__name", "typed", "value_nm"))


def test_page_shows_a_field_for_each_station_with_the_planned_width(hull, client_of, owner, widths_url):
    page = client_of(owner).get(widths_url).content.decode()

    assert re.findall(r'data-name="(at\d)" data-wanted="([\d.]+)"', page) == [
        ("at0", "5.00"), ("at1", "5.00"), ("at2", "5.00"),
    ]  # fmt: skip
    assert len(set(re.findall(r'name="at\d-uuid" value="([0-9a-f-]{36})"', page))) == 3


def test_one_post_keeps_every_figure_and_takes_the_plank_in_hand(hull, client_of, owner, widths_url, widths_saved_url):
    answer = client_of(owner).post(widths_url, posted(at0="5.02", at1="498", at2="5,01"))

    assert (answer.status_code, answer.url) == (302, widths_saved_url)
    assert typed_figures(hull) == [("A", "5,01", 5_010_000), ("F", "5.02", 5_020_000), ("M", "498", 4_980_000)]
    reading = Reading.objects.get(typed="498")
    plank = Plank.objects.get(strake=hull.strakes["1"])
    assert (reading.plank, plank.state, reading.method) == (plank, "cut", "jaws")
    assert (reading.instrument, reading.session.by, reading.person) == (
        hull.caliper,
        hull.person,
        hull.person,
    )


def test_saved_page_says_in_one_sentence_what_they_come_to(hull, client_of, owner, widths_url, widths_saved_url):
    browser = client_of(owner)
    browser.post(widths_url, posted(at0="5.01", at1="4.99", at2="5.00"))

    page = browser.get(widths_saved_url).content.decode()

    assert "Within plan." in page


def test_htmx_post_answers_with_the_fragment_and_pushes_its_address(client_of, owner, widths_url, widths_saved_url):
    answer = client_of(owner).post(widths_url, posted(at0="5.12"), headers={"HX-Request": "true"})

    page = answer.content.decode()
    assert (answer.status_code, answer["HX-Push-Url"]) == (200, widths_saved_url)
    assert page.lstrip().startswith('<section id="widths"')
    assert "Wide by 0.12 at F." in page


def test_empty_post_changes_nothing(hull, client_of, owner, widths_url):
    answer = client_of(owner).post(widths_url, posted(at0="", at1=" "))

    assert answer.status_code == 200
    assert (typed_figures(hull), Plank.objects.count()) == ([], 0)


def test_double_tap_keeps_one_reading(hull, client_of, owner, widths_url, widths_saved_url):
    data = posted(at0="5.01") | {"at0-uuid": str(uuid.uuid4())}
    browser = client_of(owner)

    answers = [browser.post(widths_url, data).url for _ in range(3)]

    assert answers == [widths_saved_url] * 3
    assert Reading.objects.count() == 1


def test_lost_answer_gives_back_the_same_reading_also_after_the_plank_hangs(hull, client_of, owner, widths_url):
    data = posted(at0="5.01") | {"at0-uuid": str(uuid.uuid4())}
    browser = client_of(owner)
    json = {"Accept": "application/json"}

    first = browser.post(widths_url, data, headers=json)
    hang_strake(hull.strakes["1"], person=hull.person, now=NOON)
    second = browser.post(widths_url, data, headers=json)

    assert (first.status_code, second.status_code) == (201, 200)
    kept = first.json()["readings"][0]
    assert kept == {
        "uuid": str(Reading.objects.get().uuid), "client_uuid": data["at0-uuid"], "created": True,
    }  # fmt: skip
    assert second.json()["readings"] == [kept | {"created": False}]


def test_station_read_twice_keeps_both_and_the_later_counts(hull, client_of, owner, widths_url):
    browser = client_of(owner)
    redraw = reverse("widths-redraw", args=[hull.build.uuid, hull.strakes["1"].uuid])

    drawn = browser.post(redraw, posted(at0="5.01", again="at0")).content.decode()
    browser.post(widths_url, posted(at0="5.01", at0b="5.05"))

    assert 'name="at0b"' in drawn
    assert 'value="5.01"' in drawn
    assert sorted(Reading.objects.values_list("value_nm", flat=True)) == [5_010_000, 5_050_000]
    counting = counting_widths(hull.opening)[hull.strakes["1"].pk, hull.stations[0].pk]
    assert (counting.value_nm, counting.repeats) == (5_050_000, 1)


def test_station_left_out_keeps_its_reason_and_is_not_a_nought(hull, client_of, owner, widths_url):
    client_of(owner).post(widths_url, posted(at0="5.01", at1="") | {"at1-why": "clamp in the way"})

    skipped = Reading.objects.get(value_nm=None)
    assert (skipped.station, skipped.missing_reason) == (hull.stations[1], "clamp in the way")
    assert len(counting_widths(hull.opening)) == 1


def test_damp_width_is_kept_and_not_counted(hull, client_of, owner, widths_url):
    client_of(owner).post(widths_url, posted(at0="5.08") | {"damp": "damp"})

    assert Reading.objects.get().damp == "damp"
    assert counting_widths(hull.opening) == {}


def test_hung_width_is_by_dividers_and_hangs_the_strake(hull, client_of, owner, widths_url):
    client_of(owner).post(widths_url, posted(at0="5.08") | {"stage": "hung"})

    reading = Reading.objects.get()
    assert (reading.method, reading.u_nm, reading.stage) == ("dividers", 150_000, "hung")
    assert Plank.objects.get().state == "hung"


def test_redraw_keeps_what_is_typed_and_writes_nothing(hull, client_of, owner):
    redraw = reverse("widths-redraw", args=[hull.build.uuid, hull.strakes["1"].uuid])
    name = str(uuid.uuid4())

    page = (
        client_of(owner)
        .post(redraw, posted(at0="nonsense", stations="all") | {"at0-uuid": name})
        .content.decode()
    )

    assert 'value="nonsense"' in page
    assert name in page
    assert 'name="stations" value="all"' in page
    assert 'class="err"' not in page
    assert Reading.objects.count() == 0


def test_instrument_in_inches_sets_the_point_by_three_places(hull, client_of, owner, widths_url):
    from tests.factories import InstrumentFactory

    inches = InstrumentFactory(build=hull.build, name="Inch caliper", reading_unit="in")

    browser = client_of(owner)
    page = browser.get(f"{widths_url}?instrument={inches.uuid}").content.decode()
    browser.post(widths_url, posted(at0="197", instrument=str(inches.uuid)))

    assert 'data-places="3"' in page
    assert 'data-wanted="0.197"' in page
    reading = Reading.objects.get()
    assert (reading.value_nm, reading.unit, reading.instrument) == (5_003_800, "in", inches)
    assert f'value="{inches.uuid}"' in browser.get(widths_url).content.decode()


def test_figures_saved_before_stay_on_the_page_when_an_answer_comes(client_of, owner, widths_url):
    browser = client_of(owner)
    first = browser.post(widths_url, posted(at0="5.02", at1="9.60", at2="9.70")).content.decode()
    kept = re.findall(r'name="at0-kept" value="([^"]+)"', first)[0]

    page = browser.post(widths_url, posted(at1="5.00", at2="9.70") | {"at0-kept": kept}).content.decode()

    assert f'name="at0-kept" value="{kept}"' in page
    assert 'name="at1-kept"' in page
    assert Reading.objects.count() == 2


def test_forged_kept_name_of_another_build_shows_nothing(client_of, owner, widths_url, stranger):
    from tests.hulls import lay_down_hull

    other = lay_down_hull(stranger, name="Other")
    theirs = ReadingFactory(
        build=other.build, opening=other.opening, strake=other.strakes["1"], station=other.stations[0],
        value_nm=7_770_000,
    )  # fmt: skip

    page = client_of(owner).post(widths_url, posted(at1="9.60") | {"at0-kept": str(theirs.uuid)}).content.decode()

    assert "7.77" not in page


def test_entry_holds_one_query_count_with_one_and_many_readings(
    hull, client_of, owner, widths_url, django_assert_max_num_queries
):
    browser = client_of(owner)
    browser.get(widths_url)
    with django_assert_max_num_queries(40) as first:
        browser.get(widths_url)
    with_none = len(first)
    for number in range(12):
        ReadingFactory(
            build=hull.build, opening=hull.opening, strake=hull.strakes[str(number % 5 + 1)],
            station=hull.stations[number // 4], person=hull.person,
        )  # fmt: skip
    with django_assert_max_num_queries(with_none):
        browser.get(widths_url)


def test_saved_page_says_where_the_planking_is_heading(hull, client_of, owner, widths_url, widths_saved_url, clock):
    """25.00 planned, 24.50 read: 0.50 short, beyond every doubt of it."""
    from tests.buildlog.views.test_new_widths import read_gap

    read_gap(hull, clock, nm=24_500_000)
    client_of(owner).post(widths_url, posted(at0="5.00", at1="5.00", at2="5.00"))

    page = client_of(owner).get(widths_saved_url)

    assert page.context["heading"] == (
        "The gap is short by 0.50 at F, 0.50 at M: left alone, strake 3 would be 4.50, planned 5.00; "
        "spread over strakes 5 to 2 each is 0.12 narrower."
    )
    assert page.context["heading"] in page.content.decode()
    assert reverse("new-widths", args=[hull.build.uuid, hull.opening.uuid]) in page.content.decode()


def test_saved_page_says_nothing_that_is_less_than_its_doubt(hull, client_of, owner, widths_url, widths_saved_url):
    client_of(owner).post(widths_url, posted(at0="5.00", at1="5.00", at2="5.01"))

    assert client_of(owner).get(widths_saved_url).context["heading"] == ""


@pytest.fixture
def pair(owner):
    """Two sides of five strakes; strake 1 is measured on starboard."""
    hull = lay_down_hull(owner, sides=("port", "starboard"))
    for station in hull.stations:
        ReadingFactory(
            build=hull.build, opening=hull.openings[1], strake=hull.strakes["starboard 1"], station=station,
            value_nm=4_900_000, person=hull.person,
        )  # fmt: skip
    return hull


def test_same_as_the_other_side_is_a_mark_and_copies_no_figure(pair, client_of, owner):
    strake = pair.strakes["1"]
    widths_url = reverse("widths-record", args=[pair.build.uuid, strake.uuid])
    browser = client_of(owner)
    assert "The rest as on starboard 1, not measured" in browser.get(widths_url).content.decode()
    before = facts_of(pair.openings[0])

    browser.post(widths_url, posted(at0="5.01") | {"same": "yes"})

    rows = Reading.objects.filter(strake=strake).values_list("station__name", "value_nm", "missing_reason")
    assert sorted(rows) == [("A", None, "as on starboard 1"), ("F", 5_010_000, ""), ("M", None, "as on starboard 1")]
    assert [row.value_nm for row in counting_widths(pair.openings[0]).values()] == [5_010_000]
    after = facts_of(pair.openings[0])
    assert [(one.station, one.width_mm) for one in after.widths] == [("F", 5.01)]
    assert before.widths == ()
    page = browser.get(reverse("widths-saved", args=[pair.build.uuid, strake.uuid])).content.decode()
    assert page.count("as on starboard 1") == 2


def test_mark_alone_takes_no_plank_in_hand_and_counts_nothing(pair, client_of, owner):
    strake = pair.strakes["1"]

    client_of(owner).post(reverse("widths-record", args=[pair.build.uuid, strake.uuid]), posted(same="yes"))

    assert Reading.objects.filter(strake=strake, value_nm=None).count() == 3
    assert not Plank.objects.filter(strake=strake).exists()
    assert counting_widths(pair.openings[0]) == {}


def test_mark_is_not_offered_and_not_taken_where_the_other_side_was_not_measured(pair, client_of, owner):
    strake = pair.strakes["2"]
    widths_url = reverse("widths-record", args=[pair.build.uuid, strake.uuid])

    assert "as on starboard" not in client_of(owner).get(widths_url).content.decode()
    client_of(owner).post(widths_url, posted(same="yes"))

    assert not Reading.objects.filter(strake=strake).exists()


def test_figures_are_typed_beside_a_photographed_sheet_that_goes_on_to_the_next_strake(
    hull, client_of, owner, widths_url
):
    photo = PhotoFactory(build=hull.build, state="ready")
    browser = client_of(owner)

    page = browser.get(widths_url, {"sheet": photo.uuid}).content.decode()
    answer = browser.post(widths_url, posted(at0="5.01", sheet=str(photo.uuid)))
    saved = browser.get(answer.url).content.decode()

    assert reverse("photo-serve", args=[hull.build.uuid, photo.uuid, "large"]) in page
    assert f'name="sheet" value="{photo.uuid}"' in page
    assert answer.url.endswith(f"/saved/?sheet={photo.uuid}")
    other = reverse("widths-record", args=[hull.build.uuid, hull.strakes["2"].uuid])
    assert f"{other}?sheet={photo.uuid}" in saved


@pytest.mark.parametrize("sheet", ["not-a-uuid", "choose", "00000000-0000-4000-8000-000000000000"])
def test_sheet_that_is_not_there_leaves_the_entry_as_it_is(client_of, owner, widths_url, sheet):
    answer = client_of(owner).get(widths_url, {"sheet": sheet})

    assert answer.status_code == 200
    assert "data-sheet" not in answer.content.decode()


def test_sheet_of_another_build_is_not_shown(client_of, owner, widths_url):
    photo = PhotoFactory(state="ready")

    assert str(photo.uuid) not in client_of(owner).get(widths_url, {"sheet": photo.uuid}).content.decode()


@pytest.fixture
def hopeless(hull, client_of, owner, clock):
    """A hull whose girth was misread as less than what hangs: its facts cannot be reckoned."""
    entry = reverse("widths-record", args=[hull.build.uuid, hull.strakes["5"].uuid])
    client_of(owner).post(entry, posted(at1="5.00"))
    hang_strake(hull.strakes["5"], person=hull.person, now=clock())
    ReadingFactory(build=hull.build, opening=hull.opening, station=hull.stations[1], kind="girth",
                   value_nm=2_000_000, typed="2.00", person=hull.person)  # fmt: skip
    return hull


def test_widths_of_a_side_that_cannot_be_reckoned_are_kept_and_shown_with_the_reason(
    hopeless, client_of, owner, widths_url, widths_saved_url
):
    browser = client_of(owner)

    answer = browser.post(widths_url, posted(at0="5.02", at1="498"), follow=True)

    page = " ".join(answer.content.decode().split())
    assert answer.status_code == 200
    assert re.findall(r'class="measured">([\d.]+)', page) == ["5.02", "4.98"]
    assert trouble_of(hopeless.opening) == "At M the girth 2.00 is smaller than what is hung, 5.00."
    assert trouble_of(hopeless.opening) in html.unescape(page)
    assert "No width counts here yet." not in page
    assert browser.get(widths_saved_url, headers={"HX-Request": "true"}).status_code == 200


def late(minutes):
    """Headers of widths that a phone wrote down so long ago and could not send before."""
    item = {"X-Waiting-Item": str(uuid.uuid4()), "X-Waited": str(60 * minutes)}
    return {"Accept": "application/json"} | item


@pytest.mark.parametrize("is_cut_anew", [False, True])
def test_widths_sent_late_are_of_the_plank_that_was_in_place_when_they_were_read(
    hull, client_of, owner, helper, widths_url, clock, is_cut_anew
):
    browser, spoil = client_of(owner), reverse("planks-spoil", args=[hull.build.uuid, hull.strakes["1"].uuid])
    browser.post(widths_url, posted(at0="5.00"))
    clock.forward(minutes=10)
    browser.post(spoil, {"reason": "split"})
    clock.forward(minutes=5)
    if is_cut_anew:
        browser.post(widths_url, posted(at0="5.03"))
    clock.forward(minutes=5)

    answer = client_of(helper).post(widths_url, posted(at1="4.80"), headers=late(minutes=15))

    assert answer.status_code == 201
    states = list(Plank.objects.order_by("pk").values_list("state", flat=True))
    assert states == (["spoiled", "cut"] if is_cut_anew else ["spoiled"])
    assert Reading.objects.get(typed="4.80").plank.state == "spoiled"
    counting = counting_widths(hull.opening).values()
    assert [one.reading.typed for one in counting] == (["5.03"] if is_cut_anew else [])


def test_widths_sent_late_of_before_any_plank_was_told_of_make_none_after_it_came_off(
    hull, client_of, owner, helper, widths_url, clock
):
    clock.forward(minutes=30)
    browser, spoil = client_of(owner), reverse("planks-spoil", args=[hull.build.uuid, hull.strakes["1"].uuid])
    browser.post(widths_url, posted(at0="5.00"))
    browser.post(spoil, {"reason": "split"})

    client_of(helper).post(widths_url, posted(at1="4.80"), headers=late(minutes=15))

    assert Plank.objects.get().state == "spoiled"
    assert Reading.objects.get(typed="4.80").plank is None
    assert counting_widths(hull.opening) == {}
