"""Hold and carry at a batten line: what the ledger is told, and that it makes a difference."""

from datetime import timedelta

import pytest

from buildlog.actions import plans
from buildlog.measuring.openings import facts_of
from buildlog.measuring.reviews import review_of
from buildlog.models import PlanOpening, PlanStrake, Review
from tests.hulls import LAID_DOWN, hang

DAY = timedelta(days=1)


def lay_belt(hull, at_line, labels=("4", "5"), seam_nm=0):
    belt = plans.plan_belt(hull.revision, hull.opening, name="Side", position=1, at_line=at_line)
    PlanStrake.objects.filter(revision=hull.revision, label__in=labels).update(belt=belt)
    PlanOpening.objects.filter(revision=hull.revision).update(planned_seam_nm=seam_nm)
    return belt


def hang_side(hull, labels=("5", "4")):
    for day, label in enumerate(labels, start=1):
        hang(hull, label, LAID_DOWN + day * DAY)


def test_held_belt_tells_where_its_last_strake_ends(hull):
    """Two strakes of 5.00 from the wale with two seams of 0.02, one of them against the wale: 10.04, by hand."""
    lay_belt(hull, "hold", seam_nm=20_000)
    hang_side(hull)

    edges = facts_of(hull.opening).edges

    assert [(e.from_line, e.strake, e.station) for e in edges] == [("wale", "4", at) for at in "FMA"]
    assert [e.distance_mm for e in edges] == pytest.approx([10.04] * 3)
    assert {e.u_mm for e in edges} == {0.10}


def test_belt_that_carries_tells_nothing(hull):
    lay_belt(hull, "carry")
    hang_side(hull)

    assert facts_of(hull.opening).edges == ()


@pytest.mark.parametrize("hung", [("5",), ()])
def test_held_belt_tells_nothing_before_it_is_hung_whole(hull, hung):
    lay_belt(hull, "hold")
    hang_side(hull, hung)

    assert facts_of(hull.opening).edges == ()


def test_belt_in_which_two_runs_meet_is_held_at_no_line(hull):
    lay_belt(hull, "hold", labels=("3", "4"))
    hang_side(hull, ("5", "4", "1", "2", "3"))

    assert facts_of(hull.opening).edges == ()


def test_hold_makes_the_gap_surer_than_carry(hull):
    """Two strakes that nobody measured: carried, their doubt is in the gap; held, only that of the line."""
    doubts = {}
    for at_line in ("carry", "hold"):
        PlanStrake.objects.update(belt=None)
        hull.revision.belts.all().delete()
        lay_belt(hull, at_line)
        if at_line == "carry":
            hang_side(hull)
        hull.opening.refresh_from_db()
        doubts[at_line] = _doubt_of_gap(hull)

    assert doubts["hold"] < doubts["carry"]


def _doubt_of_gap(hull):
    Review.objects.all().delete()
    return next(s for s in review_of(hull.opening).stations if s.station == "M").doubt_mm
