"""What differs between two revisions: also what happens at a belt's line, and no row told twice."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from buildlog.actions.plan_belts import write_belt
from buildlog.actions.plan_strakes import leave_out
from buildlog.actions.revisions import begin_draft, propose
from buildlog.models import Frame, PlanPlank, PlanRevision, PlanWidth
from buildlog.queries.plan_belts import belt_as_seen
from buildlog.queries.plan_changes import changes_between
from buildlog.queries.plan_widths import draft_opening
from tests.hulls import LAID_DOWN, lay_down_hull

LATER = LAID_DOWN + timedelta(days=1)


@pytest.fixture
def draft(hull):
    """A draft of a plan in force that has a belt Bilge of the strakes 2 to 4, carried over its line."""
    written(hull.revision, hull, hull.revision.belts, "carry", is_draft=False)
    return begin_draft(hull.build, person=hull.person, now=LATER)


def written(revision, hull, belts, at_line, is_draft=True):
    if not is_draft:
        PlanRevision.objects.filter(pk=revision.pk).update(state="draft")
    held = draft_opening(revision, hull.opening)
    belt = belts.first()
    write_belt(
        revision, hull.opening, belt.uuid if belt else None, name="Bilge", at_line=at_line,
        first=hull.strakes["2"].uuid, last=hull.strakes["4"].uuid,
        seen=belt_as_seen(belt, held.strakes) if belt else "", person=hull.person, now=LATER,
    )  # fmt: skip
    if not is_draft:
        PlanRevision.objects.filter(pk=revision.pk).update(state="in_force")


def test_a_belt_that_is_held_now_is_told_and_enough_to_propose(hull, draft):
    written(draft, hull, draft.belts, "hold")

    (change,) = changes_between(hull.revision, draft)
    fresh = PlanRevision.objects.get(pk=draft.pk)
    propose(fresh, fresh.version, reason="the batten", person=hull.person, now=LATER)

    assert change.words == ["belt Bilge carried over its line → held at its line"]
    assert change.strakes == []
    assert fresh.state == "proposed"


def test_a_strake_left_out_is_told_by_its_widths_alone(hull, draft):
    PlanWidth.objects.filter(plan_strake__strake=hull.strakes["3"]).update(thickness_nm=1_500_000)
    draft.strakes.filter(label="2").update(run="keel")
    PlanWidth.objects.filter(plan_strake__label="2").update(thickness_nm=1_500_000)
    leave_out(draft, hull.opening, hull.strakes["2"].uuid, person=hull.person, now=LATER)

    (change,) = changes_between(hull.revision, draft)
    (gone,) = change.strakes

    assert (gone.label, gone.act, len(gone.widths), gone.thicknesses) == ("2", "left out", 3, [])


def test_butts_are_told_by_the_stations_where_frames_have_no_name(hull, draft):
    forward, between, aft = (
        Frame.objects.create(build=hull.build, number=number) for number in (-60, 25, 60)
    )
    plan = draft.strakes.get(label="2")
    for order, pair in enumerate([(forward, between), (between, aft)], start=1):
        PlanPlank.objects.create(plan_strake=plan, order=order, from_frame=pair[0], to_frame=pair[1])

    (change,) = changes_between(hull.revision, draft)

    assert change.strakes[0].words == ["butts none → 24 frames aft of A"]


def test_queries_do_not_grow_with_strakes(hull, draft, owner, django_assert_num_queries):
    large = lay_down_hull(owner, labels=12, name="Large hull")
    written(large.revision, large, large.revision.belts, "carry", is_draft=False)
    other = begin_draft(large.build, person=large.person, now=LATER)

    with CaptureQueriesContext(connection) as few:
        changes_between(hull.revision, draft)
    with django_assert_num_queries(len(few)):
        changes_between(large.revision, other)
