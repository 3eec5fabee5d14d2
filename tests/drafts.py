"""Drafts of a plan for tests, made through the actions that the pages use."""

from datetime import timedelta

from buildlog.actions.plan_widths import CellTyped, write_cells
from buildlog.actions.revisions import begin_draft
from buildlog.models import PlanRevision, PlanWidth
from tests.hulls import LAID_DOWN

MM = 1_000_000
LATER = LAID_DOWN + timedelta(days=1)


def begin_narrowed(hull):
    """Return a draft in which strake 3 is 4.90 at M and the rest as in force."""
    draft = begin_draft(hull.build, person=hull.person, now=LATER)
    narrow(draft, hull, "3", 4_900_000)
    return PlanRevision.objects.get(pk=draft.pk)


def narrow(draft, hull, label, nm):
    cell = CellTyped(station=hull.stations[1], seen_nm=5 * MM, nm=nm)
    write_cells(draft, hull.opening, hull.strakes[label].uuid, [cell], person=hull.person, now=LATER)


def width(revision, label="3", at="M"):
    return PlanWidth.objects.get(
        plan_strake__revision=revision, plan_strake__label=label, station__name=at
    ).width_nm
