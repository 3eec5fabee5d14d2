"""After any division the station closes to the nanometre: widths, seams and girth, nothing over."""

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from buildlog.actions.plan_widths import put_shares
from buildlog.actions.plans import copy_revision
from buildlog.measuring.plan_widths import PlankingError, divide
from buildlog.models import PlanOpening, PlanWidth
from buildlog.queries.plan_widths import draft_opening
from tests.factories import NOON

LABELS = "12345"


@pytest.fixture
def draft(hull):
    return copy_revision(hull.revision, reason="", person=hull.person, now=NOON)


def lay(draft, hull, station, girth_nm, seam_nm, widths):
    """Set one station of the draft; a width of None takes the strake's width out."""
    plan = PlanOpening.objects.get(revision=draft)
    PlanOpening.objects.filter(pk=plan.pk).update(planned_seam_nm=seam_nm)
    plan.girths.filter(station=station).update(girth_nm=girth_nm)
    PlanWidth.objects.filter(plan_strake__revision=draft, station=station).delete()
    plans = {p.label: p for p in draft.strakes.all()}
    PlanWidth.objects.bulk_create(
        [PlanWidth(plan_strake=plans[label], station=station, width_nm=nm) for label, nm in widths.items() if nm]
    )


WIDTH = st.one_of(st.none(), st.integers(1_000_000, 9_000_000))


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    girth_nm=st.integers(20_000_000, 60_000_000),
    seam_nm=st.integers(0, 60_000),
    widths=st.fixed_dictionaries(dict.fromkeys(LABELS, WIDTH)),
    chosen=st.sets(st.sampled_from(LABELS), min_size=1),
    equal=st.booleans(),
)
def test_any_division_closes_to_the_nanometre(draft, hull, girth_nm, seam_nm, widths, chosen, equal):
    station = hull.stations[1]
    lay(draft, hull, station, girth_nm, seam_nm, widths)
    held = draft_opening(draft, hull.opening)
    uuids = {hull.strakes[label].uuid for label in chosen}
    before = {pk: w.width_nm for s in held.strakes for pk, w in s.widths.items() if s.label not in chosen}

    try:
        division = divide(held, station, uuids, equal=equal)
    except PlankingError:
        # More is given or taken than there is; the sentence is tested below.
        assume(False)
    put_shares(draft, hull.opening, {station: division.widths_nm}, person=hull.person, now=NOON)

    after = draft_opening(draft, hull.opening)
    assert after.sum_at(station).left_nm == 0
    assert all(nm > 0 for nm in division.widths_nm.values())
    if equal:
        assert max(division.widths_nm.values()) - min(division.widths_nm.values()) <= 1
    # Those not chosen stand as they were.
    assert before == {
        pk: w.width_nm for s in after.strakes for pk, w in s.widths.items() if s.label not in chosen
    }


def test_more_is_taken_than_there_is_is_refused_by_name(draft, hull):
    """Given widths of 20.00 on a girth of 19.00: nothing is left for the fifth."""
    station = hull.stations[1]
    lay(draft, hull, station, 19_000_000, 0, dict.fromkeys(LABELS, 5_000_000))

    with pytest.raises(PlankingError, match="nothing is left to divide"):
        divide(draft_opening(draft, hull.opening), station, {hull.strakes["5"].uuid}, equal=True)
