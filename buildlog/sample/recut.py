"""Revision 3 of the sample: the five bilge strakes share the gap that was read on 14 February 2026."""

from fractions import Fraction

from django.db.models import F

from buildlog.actions import plans
from buildlog.models import PlanGirth, PlanOpening, PlanWidth

from . import shelf

# What the test joint gave for a seam, and what starboard's own readings gave; nanometres.
SEAM_NM = {"port": 14_000, "starboard": 10_000}
BILGE = ["5", "6", "7", "8", "9"]


def lay_down_recut(bench, *, now):
    """Copy revision 2, give the gap left to the bilge strakes evenly, and put it in force as revision 3."""
    reason = "the five bilge strakes share the gap as it was read"
    revision = plans.copy_revision(bench.revisions[2], reason=reason, person=bench.tobin, now=now)
    for side, opening in bench.openings.items():
        plan_opening = PlanOpening.objects.get(revision=revision, opening=opening)
        plan_opening.planned_seam_nm = SEAM_NM[side]
        plan_opening.save(update_fields=["planned_seam_nm"])
        for name, gap in shelf.gaps()[side].items():
            _share_out(revision, opening, bench.stations[name], shelf.nm_of(gap), SEAM_NM[side])
    bench.revisions[3] = plans.put_in_force(revision, person=bench.tobin, now=now)
    return bench.revisions[3]


def _share_out(revision, opening, station, gap_nm, seam_nm):
    """Give one station's gap to its bilge strakes, the remainder running, and let the girth close on it."""
    here = PlanWidth.objects.filter(plan_strake__revision=revision, plan_strake__opening=opening, station=station)
    left = list(here.filter(plan_strake__label__in=BILGE).order_by("plan_strake__position"))
    room = Fraction(gap_nm - (len(left) + 1) * seam_nm)
    before = 0
    for order, width in enumerate(left, start=1):
        upto = round(room * order / len(left))
        width.width_nm, before = upto - before, upto
        width.typed = ""
        width.save(update_fields=["width_nm", "typed"])
    PlanGirth.objects.filter(plan_opening__revision=revision, plan_opening__opening=opening, station=station).update(
        lined_off_nm=F("girth_nm"),
        girth_nm=sum(here.values_list("width_nm", flat=True)) + (here.count() + 1) * seam_nm
    )
