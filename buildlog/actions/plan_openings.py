"""What a draft says of a whole opening: the planned seam and the limits; and the stock in hand."""

from django.db import transaction
from django.utils.translation import gettext as _

from buildlog.models import Opening, PlanOpening
from buildlog.queries.plan_openings import limits_as_seen

from .conflict import Conflict
from .events import raise_serial, tell_event
from .plan_widths import hold_draft

LIMITS = ("step_permille", "closing_permille", "narrow_permille", "wide_permille")


def change_limits(revision, opening, *, planned_seam_nm, limits, stock_width_nm, seen, person, now):
    """Write the seam and the limits of a draft. Stock is what lies on the shelf: it counts at once."""
    with transaction.atomic():
        hold_draft(revision)
        held = Opening.objects.select_for_update(no_key=True).get(pk=opening.pk)
        plan = PlanOpening.objects.filter(revision=revision, opening=opening).first()
        plan = plan or PlanOpening(revision=revision, opening=opening)
        before = limits_as_seen(plan, held)
        if before != seen:
            raise Conflict(_("Changed by another since you looked: both are shown."), theirs=(plan, held))
        plan.planned_seam_nm = planned_seam_nm
        for name in LIMITS:
            setattr(plan, name, limits[name])
        plan.save()
        if held.stock_width_nm != stock_width_nm:
            held.stock_width_nm, held.version = stock_width_nm, held.version + 1
            held.save(update_fields=["stock_width_nm", "version"])
            raise_serial(held)
        tell_event("limits planned", plan, build=opening.build, now=now, person=person, before={"limits": before},
                   after={"limits": limits_as_seen(plan, held)})  # fmt: skip
    return plan
