"""The bench: what is next, one warning at most, the last thing and its undoing."""

import re
from datetime import timedelta
from types import SimpleNamespace

import pytest
from django.urls import reverse

from buildlog.actions import instruments
from buildlog.actions.planks import begin_cutting, hang_strake
from buildlog.models import Build, HiddenWarning, PlanStrake, Station
from buildlog.queries.bench import widths_to_say
from buildlog.queries.cut_cards import CardLine, CutCard
from buildlog.queries.warnings import _what_follows
from buildlog.sample.story import tell_story
from tests.factories import PersonFactory, ReadingFactory, SessionFactory
from tests.hulls import hang, lay_down_hull


def record(browser, hull, label="1", **at):
    where = reverse("widths-record", args=[hull.build.uuid, hull.strakes[label].uuid])
    browser.post(where, {"damp": "dry", "stage": "cut"} | (at or {"at0": "5.01", "at1": "5.00"}))


def _warning(page):
    found = re.search(r'class="warning-first">([^<]+?) ?(?:<|$)', page)
    return found and found[1].strip()


def test_bench_names_the_next_strake_with_its_width_and_buttons(hull, client_of, owner, bench_url):
    page = client_of(owner).get(bench_url).content.decode()

    assert "Next to hang" in page
    assert re.search(r'class="bench-next"><span class="side">.*?Port 5</span>', page)
    assert 'Set <b class="fig">5.00</b> at dead flat.' in page
    assert "3 stations" in page
    for name in ("widths-record", "card-detail", "planks-hang", "planks-hang-unmeasured"):
        assert reverse(name, args=[hull.build.uuid, hull.strakes["5"].uuid]) in page


def test_another_strake_is_one_tap_away(hull, client_of, owner, bench_url):
    page = client_of(owner).get(f"{bench_url}?strake={hull.strakes['2'].uuid}").content.decode()

    assert "On the bench" in page
    assert re.search(r'class="bench-next"><span class="side">.*?Port 2</span>', page)
    assert f"?strake={hull.strakes['1'].uuid}" in page


@pytest.mark.parametrize("text", ["nonsense", "00000000-0000-4000-8000-000000000000", ""])
def test_strake_that_is_not_there_gives_the_next_one(client_of, owner, bench_url, text):
    page = client_of(owner).get(bench_url, {"strake": text}).content.decode()

    assert "Next to hang" in page


def test_reader_sees_the_card_and_no_deeds(hull, client_of, reader, bench_url):
    page = client_of(reader).get(bench_url).content.decode()

    assert "Port 5" in page
    assert "<form" not in page
    assert reverse("widths-record", args=[hull.build.uuid, hull.strakes["5"].uuid]) not in page


def test_build_without_a_plan_points_to_the_gap(client_of, owner, hull):
    bare = lay_down_hull(owner, name="Bare").build
    bare.revisions.update(state="draft", number=None, in_force_from=None)

    page = client_of(owner).get(reverse("bench", args=[bare.uuid])).content.decode()

    assert "There is no plan yet" in page
    assert reverse("first-plan", args=[bare.uuid]) in page


def test_closed_hull_says_so(hull, client_of, owner, bench_url, clock):
    for label in hull.strakes:
        hang(hull, label, clock())

    page = client_of(owner).get(bench_url).content.decode()

    assert "The hull is closed" in page
    assert reverse("photo-note", args=[hull.build.uuid]) in page


def test_photographs_only_puts_the_camera_first(hull, client_of, owner, bench_url):
    Build.objects.filter(pk=hull.build.pk).update(photographs_only=True)

    page = client_of(owner).get(bench_url).content.decode()

    assert 'class="button go" href="' + reverse("photo-note", args=[hull.build.uuid]) in page
    assert "Record widths" not in page


# Warnings, by the order of DECISIONS 4


def test_strake_in_other_hands_is_warned_of_for_a_day(hull, client_of, owner, bench_url, clock):
    marit = PersonFactory(build=hull.build, display_name="Marit")
    begin_cutting(hull.strakes["5"], person=marit, now=clock())
    browser = client_of(owner)

    now = browser.get(bench_url).content.decode()
    clock.forward(hours=24)
    later = browser.get(bench_url).content.decode()

    assert _warning(now) == "Marit is cutting Port 5."
    assert _warning(later) != "Marit is cutting Port 5."


def test_my_own_cutting_is_no_warning(hull, client_of, owner, bench_url, clock):
    begin_cutting(hull.strakes["5"], person=hull.person, now=clock())

    assert "is cutting" not in client_of(owner).get(bench_url).content.decode()


def test_zero_that_may_have_moved_is_warned_of_until_it_is_checked(hull, client_of, owner, bench_url, clock):
    browser = client_of(owner)
    _gap(browser, hull)
    instruments.tell_zero_may_have_moved(hull.caliper, person=hull.person, now=clock.forward(minutes=1))
    before = browser.get(bench_url).content.decode()

    instruments.check_zero(
        hull.caliper, offset_nm=0, u_nm=10_000, person=hull.person, now=clock.forward(minutes=1)
    )

    assert _warning(before) == "Caliper&#x27;s zero may have moved."
    assert "zero may have moved" not in browser.get(bench_url).content.decode()


@pytest.mark.parametrize(("unit", "words"), [("in", "inches"), ("64ths", "64ths of an inch")])
def test_what_is_said_names_its_unit_where_another_is_read(hull, client_of, owner, reader, bench_url, unit, words):
    before = client_of(owner).get(bench_url).content.decode()
    hull.caliper.reading_unit = unit
    hull.caliper.save()

    page = client_of(owner).get(bench_url).content.decode()

    assert 'Set <b class="fig">5.00</b> at' in before
    assert "is said here" not in before
    assert 'Set <b class="fig">5.00 mm</b> at' in page
    assert f"What is said here is in mm on the model; what you read is typed in {words}." in page
    assert "what you read" not in client_of(reader).get(bench_url).content.decode()


def _gap(browser, hull, mm="25.00"):
    browser.post(
        reverse("gaps-record", args=[hull.build.uuid, hull.opening.uuid]),
        {"method": "paper_strip", "at0": mm, "at1": mm, "at2": mm},
    )


def test_gap_check_is_warned_of_when_due_and_goes_once_it_is_read(hull, client_of, owner, bench_url):
    browser = client_of(owner)
    before = browser.get(bench_url).content.decode()

    _gap(browser, hull)

    assert _warning(before) == "Port: measure the gap."
    assert _warning(browser.get(bench_url).content.decode()) is None


def test_at_most_one_warning_stands_and_the_dearest_comes_first(hull, client_of, owner, bench_url, clock):
    marit = PersonFactory(build=hull.build, display_name="Marit")
    begin_cutting(hull.strakes["5"], person=marit, now=clock())
    instruments.tell_zero_may_have_moved(hull.caliper, person=hull.person, now=clock())

    page = client_of(owner).get(bench_url).content.decode()

    assert page.count('class="warning"') == 1
    assert _warning(page) == "Marit is cutting Port 5."


def test_not_now_hides_a_warning_from_one_person_until_its_facts_change(
    hull, client_of, owner, helper, bench_url, clock
):
    browser = client_of(owner)
    fingerprint = re.search(r'name="fingerprint" value="(\w+)"', browser.get(bench_url).content.decode())[1]

    for _ in range(2):
        browser.post(reverse("warning-hide", args=[hull.build.uuid]), {"fingerprint": fingerprint})

    assert HiddenWarning.objects.count() == 1
    assert _warning(browser.get(bench_url).content.decode()) is None
    assert _warning(client_of(helper).get(bench_url).content.decode()) == "Port: measure the gap."
    hang_strake(hull.strakes["5"], person=hull.person, now=clock())
    assert _warning(browser.get(bench_url).content.decode()) == "Port: measure the gap."


@pytest.mark.parametrize("fingerprint", ["", "x", "0" * 65, "<b>"])
def test_unknown_warning_is_refused(hull, client_of, owner, fingerprint):
    answer = client_of(owner).post(
        reverse("warning-hide", args=[hull.build.uuid]), {"fingerprint": fingerprint}
    )

    assert (answer.status_code, HiddenWarning.objects.count()) == (400, 0)


# Undo


def test_bench_holds_one_query_count_with_one_and_three_of_each(
    hull, client_of, owner, bench_url, clock, django_assert_max_num_queries
):
    browser = client_of(owner)
    record(browser, hull, "1")
    browser.get(bench_url)
    with django_assert_max_num_queries(60) as first:
        browser.get(bench_url)
    with_one = len(first)
    for label in ("2", "4", "5"):
        clock.forward(minutes=1)
        record(browser, hull, label)
    browser.get(bench_url)
    with django_assert_max_num_queries(with_one):
        browser.get(bench_url)


def test_bench_after_a_week_still_says_what_was_hung_last(hull, client_of, owner, bench_url, clock):
    hang(hull, "5", clock())
    clock.moment += timedelta(days=7)

    page = client_of(owner).get(bench_url).content.decode()

    assert "hung 14 March." in page

    clock.moment += timedelta(days=365)
    assert "hung 14 March 2026." in client_of(owner).get(bench_url).content.decode()


def test_bench_calls_a_girth_a_girth(hull, client_of, owner, bench_url, clock):
    session = SessionFactory(build=hull.build, by=hull.person, local_date=clock().date(), opened_at=clock())
    ReadingFactory(build=hull.build, opening=hull.opening, station=hull.stations[1], kind="girth", session=session,
                   value_nm=24_910_000, typed="24.91", person=hull.person)  # fmt: skip

    page = client_of(owner).get(bench_url).content.decode()

    assert ", 1 girth." in page


def test_bench_says_the_shared_width_before_the_old_one_where_it_is_to_be_spread(client_of, owner):
    """Port 9 shared out evenly is 4.41 at dead flat, planned 4.50: the sample's own gap table."""
    build = tell_story(owner)

    page = client_of(owner).get(reverse("bench", args=[build.uuid])).content.decode()

    assert 'Shared out, it is <b class="fig">4.41</b> at dead flat.' in page
    assert "The plan in force has 4.50 there." in page
    assert "Set <b" not in page


def test_bench_lays_the_plan_beside_what_the_gap_leaves_for_the_closing_strake():
    """The card is set 0.03 less for the habit; what the gap leaves is a width to come out, as the plan's is."""
    station = Station(name="M", is_dead_flat=True)
    line = CardLine(station, set_nm=4_970_000, makes_nm=5_000_000)
    plan = PlanStrake(run="closing", label="3")
    card = CutCard(build=None, strake=None, plan=plan, revision=None, lines=[line], words="")

    told = widths_to_say(card, None)

    assert (told["set"], told["plan"]) == ("4.97", "5.00")


def test_strake_cut_and_measured_has_hung_as_its_yellow_button(hull, client_of, owner, bench_url):
    browser = client_of(owner)
    record(browser, hull, "5", at0="5.00", at1="5.00", at2="5.00")

    page = browser.get(f"{bench_url}?strake={hull.strakes['5'].uuid}").content.decode()

    assert re.findall(r'<button class="button go[^"]*">([^<]+)', page) == ["Hung"]
    assert "Measure again" in page
    assert page.count(reverse("planks-hang", args=[hull.build.uuid, hull.strakes["5"].uuid])) == 1


def test_strake_cut_and_not_measured_is_measured_first(hull, client_of, owner, bench_url, clock):
    begin_cutting(hull.strakes["5"], person=hull.person, now=clock())

    page = client_of(owner).get(bench_url).content.decode()

    assert re.search(r'class="button go bench-phone" [^>]*>Record widths', page)


def test_bench_says_why_a_side_cannot_be_reckoned(hull, client_of, owner, bench_url, clock):
    browser = client_of(owner)
    record(browser, hull, "5", at0="5.00", at1="5.00", at2="5.00")
    hang(hull, "5", clock())
    ReadingFactory(build=hull.build, opening=hull.opening, station=hull.stations[1], kind="girth",
                   value_nm=2_000_000, typed="2.00", person=hull.person)  # fmt: skip

    page = browser.get(bench_url).content.decode()

    assert "At M the girth 2.00 is smaller than what is hung, 5.00." in page


def test_what_is_less_than_nothing_has_a_true_minus():
    station = Station(name="M", is_dead_flat=True)
    line = CardLine(station, set_nm=4_970_000, makes_nm=5_000_000)
    plan = PlanStrake(run="closing", label="3")
    card = CutCard(build=None, strake=None, plan=plan, revision=None, lines=[line], words="")
    there = SimpleNamespace(
        station="M", room_mm=-0.71, left=("3",), short_mm=5.7, closing="3", left_alone_mm=-0.71, closing_planned_mm=5.0
    )
    review = SimpleNamespace(stations=[there], new_widths_offered=False, worst="M", at=lambda name: there)

    assert widths_to_say(card, review)["by_gap"] == "−0.71"
    assert _what_follows(review) == "Short by 5.70 at M. Left alone, strake 3 would be −0.71, planned 5.00."
