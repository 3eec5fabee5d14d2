"""Drafts, proposals and what differs between two plans, without a page."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from buildlog.actions.conflict import Conflict, NotPossible
from buildlog.actions.plan_strakes import add_strake
from buildlog.actions.plans import copy_revision, put_in_force
from buildlog.actions.revisions import accept_revision, begin_draft, bring_up_to_date, propose, throw_away
from buildlog.models import PlanRevision, PlanWidth, Strake
from buildlog.queries.plan_changes import changes_between
from buildlog.queries.revisions import in_the_way
from tests.drafts import LATER, MM, begin_narrowed, narrow, width
from tests.factories import PhotoFactory
from tests.hulls import hang, lay_down_hull


@pytest.fixture
def draft(hull):
    return begin_narrowed(hull)


def test_starting_a_draft_twice_goes_on_with_the_first(hull, draft):
    assert begin_draft(hull.build, person=hull.person, now=LATER).pk == draft.pk


def test_a_draft_of_a_plan_that_rules_no_more_is_brought_up_to_date(hull, draft):
    other = copy_revision(hull.revision, reason="other", person=hull.person, now=LATER)
    PlanWidth.objects.filter(plan_strake__revision=other, plan_strake__label="5").update(width_nm=5_100_000)
    put_in_force(other, person=hull.person, now=LATER)
    propose(draft, draft.version, reason="mean", person=hull.person, now=LATER)

    with pytest.raises(NotPossible, match="Bring it up to date first"):
        accept_revision(draft, draft.version, person=hull.person, now=LATER)
    fresh = bring_up_to_date(draft, draft.version, person=hull.person, now=LATER)

    assert (width(fresh), width(fresh, "5"), fresh.reason) == (4_900_000, 5_100_000, "mean")
    assert in_the_way(fresh) == []
    assert not PlanRevision.objects.filter(pk=draft.pk).exists()


def test_bringing_up_to_date_leaves_what_was_hung_meanwhile(hull, draft):
    put_in_force(
        copy_revision(hull.revision, reason="same", person=hull.person, now=LATER), person=hull.person, now=LATER
    )
    hang(hull, "3", LATER)

    fresh = bring_up_to_date(draft, draft.version, person=hull.person, now=LATER)

    assert width(fresh) == 5 * MM
    assert in_the_way(fresh) == []


def test_a_hung_strake_alone_in_the_way_is_put_back_and_the_rest_stays(hull, draft):
    narrow(draft, hull, "4", 4_950_000)
    hang(hull, "3", LATER)
    before = PlanRevision.objects.get(pk=draft.pk)

    fresh = bring_up_to_date(before, before.version, person=hull.person, now=LATER)

    assert in_the_way(fresh) == []
    assert (width(fresh), width(fresh, "4")) == (5 * MM, 4_950_000)


def test_bringing_up_to_date_keeps_what_the_eye_accepted(hull, draft):
    photo = PhotoFactory(build=hull.build, state="ready")
    propose(
        draft, draft.version, reason="mean", person=hull.person, now=LATER, accepted_by_eye=True, photo=photo
    )

    fresh = bring_up_to_date(draft, draft.version, person=hull.person, now=LATER)
    fresh.refresh_from_db()

    assert (fresh.accepted_by_eye, fresh.accepted_photo) == (True, photo)


def test_a_strake_made_for_a_draft_goes_with_it(hull, draft):
    added = add_strake(draft, hull.opening, beside=hull.strakes["3"].uuid, towards="wale", label="3a", kind="full",
                       belt=None, spans=[], person=hull.person, now=LATER)  # fmt: skip
    fresh = PlanRevision.objects.get(pk=draft.pk)
    throw_away(fresh, fresh.version, person=hull.person, now=LATER)

    assert not Strake.objects.filter(pk=added.strake_id).exists()
    assert Strake.objects.filter(opening=hull.opening).count() == 5


def test_a_draft_that_came_from_no_plan_is_not_emptied_by_laying_it_again(hull, draft):
    PlanRevision.objects.filter(pk=draft.pk).update(based_on=None)

    with pytest.raises(NotPossible, match="before a plan was in force"):
        bring_up_to_date(draft, draft.version, person=hull.person, now=LATER)

    assert width(draft) == 4_900_000


def test_queries_of_a_copy_do_not_grow_with_strakes(hull, owner, django_assert_num_queries):
    large = lay_down_hull(owner, labels=20, name="Large hull")
    with CaptureQueriesContext(connection) as few:
        copy_revision(hull.revision, reason="", person=hull.person, now=LATER)

    with django_assert_num_queries(len(few)):
        twin = copy_revision(large.revision, reason="", person=large.person, now=LATER)

    assert changes_between(large.revision, twin) == []
    assert PlanWidth.objects.filter(plan_strake__revision=twin).count() == 60


def test_what_differs_is_told_cell_by_cell_and_nothing_else(hull, draft):
    (change,) = changes_between(hull.revision, draft)
    (strake,) = change.strakes
    (cell,) = strake.cells

    assert (strake.label, cell.station.name, cell.old_nm, cell.new_nm) == ("3", "M", 5 * MM, 4_900_000)


def test_what_differs_names_strakes_left_out_and_added_and_runs(hull, draft):
    plans = {plan.label: plan for plan in draft.strakes.all()}
    plans["2"].delete()
    plans["4"].run = "keel"
    plans["4"].label = "4a"
    plans["4"].save()

    (change,) = changes_between(hull.revision, draft)
    told = {strake.label: (strake.act, strake.words) for strake in change.strakes}

    assert told["2"] == ("left out", [])
    assert told["4a"][0] == "changed"
    assert "label 4 → 4a" in told["4a"][1]


def test_a_strake_cut_to_an_accepted_plan_is_no_fault_and_one_cut_before_stays_one(hull, draft):
    """Strake 1 hung 0.10 wide of its plan; strake 3 is made 0.10 narrower by eye and hung so."""
    from buildlog.measuring.openings import facts_of

    hang(hull, "1", LATER)
    fresh = PlanRevision.objects.get(pk=draft.pk)
    fresh = propose(fresh, fresh.version, reason="by eye", person=hull.person, now=LATER, accepted_by_eye=True)
    accept_revision(fresh, fresh.version, person=hull.person, now=LATER)
    hang(hull, "3", LATER)

    facts = facts_of(hull.opening)

    assert facts.strake_by_label["3"].judged_by_mm("M") == 4.9
    assert facts.strake_by_label["1"].judged_by_mm("M") == 5.0


def test_proposing_with_an_old_version_is_a_conflict_that_carries_what_stands(hull, draft):
    with pytest.raises(Conflict) as conflict:
        propose(draft, draft.version + 5, reason="mean", person=hull.person, now=LATER)

    assert conflict.value.theirs == draft
