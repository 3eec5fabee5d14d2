"""What the pages of the sample hull say on each day of its story, as a visitor reads them.

The sample's own invented figures, worked by hand when it was made. A day of the past is asked for by the date on the
Hull page; pages that have no such date are opened on a story told no further.
"""

import html
import re
from datetime import UTC, datetime

import pytest
from django.urls import reverse

from buildlog.actions.events import raise_serial
from buildlog.models import CardPrint, InstrumentEvent, Reading, ZeroCorrection
from buildlog.sample.story import tell_story
from tests.buildlog.sample.test_story import opening_of
from tests.factories import MembershipFactory


@pytest.fixture
def read(owner, client_of):
    """Return a page's own text, with its tags and its pictures left out."""
    browser = client_of(owner)

    def words_of(name, build, *args, on=None):
        answer = browser.get(reverse(name, args=[build.uuid, *args]), {"on": on} if on else {})
        assert answer.status_code == 200, name
        page = answer.content.decode().partition("<main")[2].partition("</main>")[0]
        without = re.sub(r"<[^>]+>", " ", re.sub(r"<svg.*?</svg>", " ", page, flags=re.S))
        return re.sub(r"\s+", " ", html.unescape(without))

    return words_of


def at_noon(year, month, day):
    return datetime(year, month, day, 12, 0, tzinfo=UTC)


@pytest.fixture
def told(owner):
    return tell_story(owner)


def test_in_february_starboard_12_is_short_and_the_frame_is_to_be_looked_at(owner, read):
    """Port is 0.05 short of the drawing there, so starboard is 0.20 short of the drawing and 0.15 of port."""
    lined_off = tell_story(owner, until=at_noon(2025, 2, 8))
    measured = tell_story(owner, until=at_noon(2025, 2, 1), name="A week before")

    assert "At 12 the sides differ by 0.15 mm: Port is the longer." in read("girth-list", measured)
    said = read("girth-list", lined_off)
    assert "Starboard 12 is 0.20 mm shorter than the drawing and 0.15 shorter than port; 2 takes agree." in said
    assert "Look at the frame before you plank there." in said


@pytest.mark.parametrize(
    ("on", "said"),
    [
        ("2025-03-29", "Port 14 and 13 are both wide, about 0.06. Two is not yet a habit."),
        ("2025-04-12", "Port side belt: 3 of 3 wide, together 0.21 at H, 0.16 at dead flat; "
                       "at this rate 0.34 and 0.27 by strake 10. A note, not an alarm."),
        ("2025-04-12", "You wrote of your cutting on 29 March 2025: “I leave the line because the knife wanders.”"),
        ("2025-05-24", "together 0.34 at M, 0.29 at dead flat; it is carried on to the strakes left."),
        ("2025-05-24", "Port: measure the gap. No gap was ever read"),
        ("2025-06-28", "Readings of strake 3 with Caliper A are in doubt until its zero is checked."),
        ("2025-07-05", "Readings of strakes 3 and 4 with Caliper A are in doubt until its zero is checked."),
        ("2026-02-14", "Port gap short by 0.40 at D, 0.33 at dead flat (there widths 0.13, seams 0.20)."),
        ("2026-02-14", "Strake 7 left alone: 3.94 at D, planned 4.43; 4.08 at dead flat, planned 4.50. "
                       "So at all 11 stations. Strakes 9 to 5 at 4.41 each at dead flat."),
        ("2026-02-14", "So at 9 stations; carry on at H and dead flat."),
    ],
)  # fmt: skip
def test_hull_says_it_on_its_day(told, read, on, said):
    assert said in read("hull", told, on=on)


def test_before_anybody_wrote_of_the_line_nothing_is_quoted(told, read):
    assert "wrote of" not in read("hull", told, on="2025-03-22")


def test_another_reads_who_wrote_of_the_line(told, reader, client_of):
    MembershipFactory(build=told, account=reader, role="reader")

    page = client_of(reader).get(reverse("drift-list", args=[told.uuid])).content.decode()

    assert "Tobin Ashgrave wrote of the cutting on 29 March 2025" in page


def test_damp_reading_stands_on_its_strake_and_does_not_count(owner, read):
    build = tell_story(owner, until=at_noon(2025, 5, 3))
    strake = Reading.objects.get(build=build, damp="damp").strake

    said = read("strake-detail", build, strake.uuid)

    assert "4.87" in said
    assert "read damp" in said


def test_in_june_bench_asks_for_caliper_a_before_the_next_reading(owner, client_of, read):
    build = tell_story(owner, until=at_noon(2025, 6, 21))
    strake = opening_of(build, "port").strakes.get(plans__label="3", plans__revision__number=2)

    bench = client_of(owner).get(reverse("bench", args=[build.uuid]), {"strake": strake.uuid}).content.decode()

    text = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html.unescape(bench)))
    assert "Caliper A's zero may have moved. Check it before the next reading" in text
    assert "Caliper A in doubt: its zero may have moved" in read("instrument-list", build)


def test_in_january_the_check_names_the_strakes_it_would_correct(owner, client_of, read, settings):
    build = tell_story(owner, until=at_noon(2026, 1, 30))
    caliper = build.instruments.get(name="Caliper A")
    settings.CLOCK = lambda: at_noon(2026, 1, 31)
    where = reverse("zero-check", args=[build.uuid, caliper.uuid])

    kept = client_of(owner).post(where, {"offset": "0.08", "sign": "over", "note": "jaws wiped"})

    assert kept.status_code == 302
    said = read("instrument-detail", build, caliper.uuid)
    assert "would count as 0.08 less than they were read" in said
    assert re.search(r"They are of \S* ?Port 3 , \S* ?Port 4", said), said


def test_in_january_the_break_is_met_with_humidity_gap_and_old_cards(owner, client_of, read):
    build = tell_story(owner, until=at_noon(2026, 1, 31))

    said = read("where-i-left-off", build)

    assert "38 % on 31 January 2026, was 63 % on" in said
    assert "Port: measure the gap" in said
    assert re.search(r"Old \S* ?Port 9 revision 1, printed 8 Feb 2025", said), said
    assert "Revision 2 came in force on 26 April 2025, after cards were printed" in said


def test_in_february_the_card_from_the_drawer_is_old_and_says_what_changed(owner, client_of):
    build = tell_story(owner, until=at_noon(2026, 2, 7))
    card = CardPrint.objects.get(plan_strake__revision__build=build)

    page = client_of(owner).get(reverse("card-scan", args=[card.code])).content.decode()

    assert "Do not cut to it" in page
    text = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))
    assert "dead flat 3.75 4.50" in text


def test_had_nobody_noticed_the_gap_would_leave_less_than_the_test_joints_allow(told, read):
    """The same readings without the crumb of June: no event, no check, no correction."""
    correction = ZeroCorrection.objects.get(epoch__instrument__build=told)
    assert "less than your test joints allow" not in read("hull", told)

    InstrumentEvent.objects.filter(epoch=correction.epoch).delete()
    correction.delete()
    raise_serial(opening_of(told, "port"))

    said = read("hull", told)
    left = re.search(r"Left over (\S+) over 13 seams at .{1,30}? is less than your test joints allow \((\S+)\)", said)
    assert left.groups() == ("0.04", "0.18")


def test_corrected_readings_keep_the_figure_that_was_read(told, read):
    strake = opening_of(told, "port").strakes.get(plans__label="3", plans__revision__number=2)
    was = {r.typed for r in Reading.objects.filter(strake=strake, kind="width")}

    said = read("strake-detail", told, strake.uuid)

    assert len(was) > 3
    assert all(figure in said for figure in was)


def test_in_april_the_closing_strake_wants_the_gap(owner, read):
    build = tell_story(owner, until=at_noon(2026, 4, 11))

    assert "4.45 at dead flat, planned 4.42: make it to the gap." in read("hull", build)


def test_in_may_it_is_closed_and_the_largest_step_is_where_the_recut_began(owner, read):
    build = tell_story(owner, until=at_noon(2026, 5, 9))

    said = read("hull", build)

    assert "Port: closed. Strake 7 is within 0.07 of its neighbours at dead flat." in said
    assert re.search(r"Largest step off the plan: 0\.15 at .*?, 10 to 9\. That is where the recut began\.", said), said
