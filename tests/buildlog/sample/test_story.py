"""The sample hull: every station of every revision closes, and each day says what it is to say.

All figures are the sample's own, invented for it; the gap table was worked by hand when the sample was made:
short = widths + seams - girth difference, and the recut strake = (gap - (n + 1) seams) / n.
"""

from datetime import UTC, datetime, timedelta

import pytest

from buildlog.measuring.closed_hulls import largest_step
from buildlog.measuring.reviews import review_of
from buildlog.models import Plank, PlanOpening, PlanWidth, Reading
from buildlog.queries.next_strake import next_strake
from buildlog.sample.story import THE_END, tell_story

# side, station: planned gap, gap as read, short, and what each bilge strake gets when it is spread evenly.
GAP_TABLE = {
    "port": {
        "FH": (10.05, 9.82, 0.23, 2.44), "Q": (15.21, 14.97, 0.24, 2.98), "M": (19.18, 18.82, 0.36, 3.75),
        "H": (21.17, 20.82, 0.35, 4.15), "D": (22.16, 21.76, 0.40, 4.33), "⊗": (22.49, 22.16, 0.33, 4.41),
        "4": (22.16, 21.83, 0.33, 4.35), "8": (21.50, 21.27, 0.23, 4.24), "12": (20.51, 20.18, 0.33, 4.02),
        "16": (21.17, 20.93, 0.24, 4.17), "AH": (23.81, 23.63, 0.18, 4.71),
    },
    "starboard": {
        "FH": (10.05, 9.96, 0.09, 2.48), "Q": (15.21, 15.06, 0.15, 3.00), "M": (19.18, 18.93, 0.25, 3.77),
        "H": (21.17, 21.10, 0.07, 4.21), "D": (22.16, 21.96, 0.20, 4.38), "⊗": (22.49, 22.43, 0.06, 4.48),
        "4": (22.16, 22.00, 0.16, 4.39), "8": (21.50, 21.31, 0.19, 4.25), "12": (20.51, 20.18, 0.33, 4.02),
        "16": (21.17, 20.93, 0.24, 4.17), "AH": (23.81, 23.67, 0.14, 4.72),
    },
}  # fmt: skip


@pytest.fixture
def told(owner):
    return tell_story(owner)


def opening_of(build, side):
    return build.openings.get(side=side)


def evening(year, month, day):
    return datetime(year, month, day, 20, 0, tzinfo=UTC)


def test_no_plank_is_thicker_than_its_wood_nor_wider_than_the_stock(owner):
    build = tell_story(owner, until=THE_END)

    cut = Plank.objects.filter(strake__opening__build=build, lot__isnull=False).select_related("lot")
    wood = {plank.strake_id: plank.lot.thickness_nm for plank in cut}
    planned = PlanWidth.objects.filter(plan_strake__revision__build=build).select_related("plan_strake__opening")

    assert {plank.lot.name for plank in cut} == {"A", "B"}
    assert [w for w in planned if w.thickness_nm > wood.get(w.plan_strake.strake_id, w.thickness_nm)] == []
    assert [w for w in planned if w.width_nm > w.plan_strake.opening.stock_width_nm] == []


def test_every_station_of_every_revision_closes_to_zero(owner):
    build = tell_story(owner, until=THE_END)

    left_open = {}
    for plan in PlanOpening.objects.filter(revision__build=build).select_related("revision", "opening"):
        for girth in plan.girths.select_related("station"):
            widths = _widths_at(plan, girth.station)
            # Revisions 1 and 2 carry no seams; revision 3 carries one more than the strakes that are there.
            seams = (len(widths) + 1) * plan.planned_seam_nm
            key = (plan.revision.number, plan.opening.side, girth.station.name)
            left_open[key] = girth.girth_nm - sum(widths) - seams

    assert len(left_open) == 3 * 2 * 11
    assert {key for key, value in left_open.items() if value != 0} == set()


def _widths_at(plan, station) -> list[int]:
    rows = PlanWidth.objects.filter(
        plan_strake__revision=plan.revision, plan_strake__opening=plan.opening, station=station
    )
    return list(rows.values_list("width_nm", flat=True))


@pytest.mark.parametrize("side", ["port", "starboard"])
def test_the_gap_check_of_february_comes_out_as_worked(told, side):
    review = review_of(opening_of(told, side))

    for station, (planned, gap, short, even) in GAP_TABLE[side].items():
        here = review.at(station)
        assert here.planned_gap_mm == pytest.approx(planned, abs=0.006)
        assert here.gap_mm == pytest.approx(gap, abs=0.001)
        assert here.short_mm == pytest.approx(short, abs=0.0101)
        assert {round(new.even_mm, 2) for new in here.even} <= {even, round(even + 0.01, 2), round(even - 0.01, 2)}
        parts = here.parts
        named = parts.in_plan_mm + parts.widths_mm + parts.girth_mm + parts.seams_mm + parts.weighed_mm
        assert named + parts.left_over_mm == pytest.approx(parts.total_mm, abs=1e-9)
        assert abs(parts.left_over_mm) <= 0.03


def test_february_says_spread_it_on_both_sides(told):
    port, starboard = (review_of(opening_of(told, side)) for side in ("port", "starboard"))

    assert {s.verdict for s in port.stations} == {"spread_it"}
    assert (port.worst, port.also) == ("D", "⊗")
    assert "short by 0.40 at D, 0.33 at dead flat" in port.sentence
    assert "(there widths 0.13, seams 0.20)" in port.sentence
    assert "3.94 at D" in port.sentence
    assert "4.08 at dead flat" in port.sentence
    assert [s.station for s in starboard.stations if s.verdict == "carry_on"] == ["H", "⊗"]
    assert sum(s.verdict == "spread_it" for s in starboard.stations) == 9


@pytest.mark.parametrize(
    ("day", "said"),
    [
        (evening(2025, 3, 29), "Port 14 and 13 are both wide, about 0.06. Two is not yet a habit."),
        (evening(2025, 4, 12), "Port side belt: 3 of 3 wide, together 0.21 at H, 0.16 at dead flat"),
        (evening(2025, 5, 24), "together 0.34 at M, 0.29 at dead flat; it is carried on"),
    ],
    ids=["two is not a habit", "three is a note", "five are carried on"],
)
def test_each_day_says_what_was_known_then(told, day, said):
    review = review_of(opening_of(told, "port"), as_of=day)

    assert said in " ".join(note.sentence for note in review.notes)
    assert review.verdict == "measure_gap"


def test_readings_are_in_doubt_until_the_caliper_is_checked(told):
    port = opening_of(told, "port")

    before = review_of(port, as_of=evening(2025, 6, 14))
    in_doubt = review_of(port, as_of=evening(2025, 7, 5))
    corrected = review_of(port, as_of=evening(2026, 1, 31))

    assert "in_doubt" not in {note.kind for note in before.notes}
    assert {label for note in in_doubt.notes if note.kind == "in_doubt" for label in note.strakes} == {"3", "4"}
    assert "in_doubt" not in {note.kind for note in corrected.notes}


def test_the_damp_reading_is_kept_and_not_counted(told):
    damp = Reading.objects.get(build=told, damp="damp")

    review = review_of(opening_of(told, "port"), as_of=evening(2025, 5, 3))

    point = next(p for p in review.at("⊗").wale_drift if p.strake == "11")
    assert damp.value_nm == 4_870_000
    assert point.deviation_mm == pytest.approx(4.82 - 9 * 25.4 / 48, abs=1e-6)


def test_the_spoiled_strake_leaves_the_next_one_to_hang(told):
    following = next_strake(told)

    assert (following.side, following.label) == ("port", "9")


def test_the_whole_story_ends_with_a_closed_hull(owner):
    build = tell_story(owner, until=THE_END)

    assert next_strake(build) is None
    assert build.sessions.count() == 37
    assert sum(build.sessions.values_list("minutes", flat=True)) == pytest.approx(109.7 * 60, abs=3)
    port, starboard = (review_of(o).sentence for o in build.openings.all())
    assert port == "Port: closed. Strake 7 is within 0.07 of its neighbours at dead flat."
    assert starboard.startswith("Starboard: closed. Strake 7 is within ")
    assert build.revisions.filter(state="in_force").get().number == 3


def test_in_may_the_largest_step_is_where_the_recut_began(owner):
    """Port 10 is 0.07 wide and 9 is 0.08 narrow of revision 2 at dead flat: 0.15, from the sample's own figures."""
    build = tell_story(owner, until=THE_END)

    step = largest_step(opening_of(build, "port"))

    assert round(step.nm / 1e6, 2) == 0.15
    assert (step.older, step.newer, step.is_where_recut_began) == ("10", "9", True)


def test_in_april_the_closing_strake_is_made_to_the_gap(owner):
    build = tell_story(owner, until=datetime(2026, 4, 11, 23, 0, tzinfo=UTC))

    here = review_of(opening_of(build, "port")).at("⊗")

    assert here.left == ("7",)
    assert here.left_alone_mm == pytest.approx(4.45, abs=0.0051)


def test_telling_it_twice_makes_two_builds(owner):
    first, second = tell_story(owner), tell_story(owner, name="Second")

    assert first.uuid != second.uuid
    assert first.readings.count() == second.readings.count()
    assert timedelta(0) == first.created_at - second.created_at
