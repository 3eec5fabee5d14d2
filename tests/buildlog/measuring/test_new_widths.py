"""New widths close on what the ledger believes, and putting them in force is no news to it."""

import uuid
from datetime import timedelta

import pytest

from buildlog.actions.instruments import correct_zero
from buildlog.actions.new_widths import put_new_widths
from buildlog.actions.planks import cut_strake
from buildlog.actions.readings import record_reading
from buildlog.drawn.hulls import StandingHull
from buildlog.measuring import openings
from buildlog.measuring.new_widths import new_widths_of
from buildlog.measuring.openings import facts_of
from buildlog.measuring.reviews import review_of
from buildlog.models import Opening, PlanGirth
from buildlog.sample.story import BEFORE_THE_RECUT, tell_story
from planking import estimate
from tests.hulls import LAID_DOWN


@pytest.fixture
def no_girths_and_no_joints(monkeypatch):
    """A builder who read gaps and widths only: the plan's girths are all the ledger knows of the hull."""
    monkeypatch.setattr(openings._Facts, "_girths", lambda self: iter(()))
    monkeypatch.setattr(openings, "seam_of_shop", lambda *given: None)


def recut(build, side):
    opening, hull = Opening.objects.get(build=build, side=side), StandingHull(build)
    found = new_widths_of(opening, hull.strakes[opening.pk], hull.stations)
    put_new_widths(
        opening, {share.station: share.widths for share in found.shares}, serial=opening.serial,
        seam_nm=found.seam_nm, reason="x", person=build.people.first(), now=BEFORE_THE_RECUT + timedelta(hours=1),
    )  # fmt: skip
    return Opening.objects.get(pk=opening.pk)


def rooms(opening):
    return [float(mm) for mm in estimate.room(estimate.ledger(facts_of(opening))).mean]


@pytest.mark.parametrize("side", ["port", "starboard"])
def test_new_widths_in_force_leave_nothing_to_be_told(owner, side):
    opening = recut(tell_story(owner), side)

    review = review_of(opening)

    assert review.sentence.startswith(f"Carry on. {side.capitalize()} gap as planned at all 11 stations, give or take ")
    assert not review.new_widths_offered


def test_without_girths_they_close_on_the_readings_weighed_together(owner, no_girths_and_no_joints):
    build = tell_story(owner)
    before = rooms(Opening.objects.get(build=build, side="port"))

    opening = recut(build, "port")

    review = review_of(opening)
    assert rooms(opening) == pytest.approx(before, abs=0.002)
    assert max(abs(one.to_take_up_mm) for one in review.stations) < 0.005
    assert review.sentence.startswith("Carry on. Port gap as planned")


def test_girth_the_plan_was_lined_off_on_is_kept_through_two_recuts(owner):
    build = tell_story(owner)
    drawn = dict(PlanGirth.objects.filter(
        plan_opening__revision__number=2, plan_opening__opening__side="port"
    ).values_list("station__name", "girth_nm"))  # fmt: skip

    recut(build, "port")
    opening = recut(build, "port")

    kept = facts_of(opening).girth_planned_mm
    assert {name: round(mm * 1_000_000) for name, mm in kept.items()} == drawn


def test_a_strake_in_hand_takes_its_width_less_the_zero_as_every_page_does(hull):
    at = LAID_DOWN + timedelta(days=1)
    cut_strake(hull.strakes["2"], person=hull.person, now=at)
    for kind, nm, strake, told in (
        ("gap", 25_000_000, None, {"method": "paper_strip", "instrument": hull.strip}),
        ("width", 5_080_000, hull.strakes["2"], {"method": "jaws", "instrument": hull.caliper, "stage": "cut"}),
    ):
        record_reading(
            hull.build, client_uuid=uuid.uuid4(), now=at, kind=kind, station=hull.stations[1], opening=hull.opening,
            strake=strake, value_nm=nm, typed=f"{nm / 1e6:.2f}", unit="mm", person=hull.person, **told,
        )  # fmt: skip

    def kept_nm():
        standing = StandingHull(hull.build)
        (share,) = new_widths_of(hull.opening, standing.strakes[hull.opening.pk], standing.stations).shares
        return share.kept_nm

    as_read = kept_nm()
    correct_zero(
        hull.caliper.epochs.get(), offset_nm=80_000, u_nm=5_000, reason="crumb", person=hull.person, now=at
    )

    assert (as_read, kept_nm()) == (5_080_000, 5_000_000)
