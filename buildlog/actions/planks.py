"""The life of planks: being cut, cut, hung, spoiled, taken off. Every step is a fact with its times."""

import zoneinfo

from django.db import IntegrityError, transaction
from django.utils.formats import date_format, time_format
from django.utils.translation import gettext as _

from buildlog.models import Plank, PlankStep, PlanRevision
from buildlog.queries.last_things import UNDONE
from buildlog.queries.planks import CUTTING_FADES_AFTER

from .conflict import Conflict, NotPossible
from .events import hold_opening, raise_serial, tell_event

OUT = (Plank.State.SPOILED, Plank.State.TAKEN_OFF)


def take_step(plank, state, *, person, now, happened_at=None, known_at=None, session=None, reason=""):
    """Move one plank to ``state`` and keep the step."""
    plank.state = state
    plank.save(update_fields=["state"])
    return PlankStep.objects.create(
        plank=plank, state=state, person=person, session=session, reason=reason, measured=plank.measured,
        happened_at=happened_at or now, known_at=min(known_at or now, now), received_at=now,
    )  # fmt: skip


def _plan_of(strake, revision):
    plan = strake.plans.filter(revision=revision).first() if revision else None
    if plan is None:
        raise NotPossible(_("This strake is not in the plan in force."), field="strake")
    return plan


def _numbers(plan) -> list[int]:
    return [plank.order for plank in plan.planks.order_by("order")] or [1]


def revision_in_force(build):
    return PlanRevision.objects.filter(build=build, state=PlanRevision.State.IN_FORCE).first()


def came_out_since(strake, moment) -> PlankStep | None:
    """Return the newest step that took a plank of a strake out of the hull after a moment, or None.

    What was undone never was, and stands in the way of nothing.
    """
    steps = PlankStep.objects.filter(plank__strake=strake, state__in=OUT, happened_at__gt=moment)
    return steps.exclude(reason=UNDONE).order_by("happened_at", "pk").last()


def _refuse_what_came_out_since(strake, now, happened_at):
    """What a phone sends late is of the plank of its time: it hangs no other, and not the same one again."""
    step = came_out_since(strake, happened_at) if happened_at else None
    if step is None:
        return
    zone = zoneinfo.ZoneInfo(strake.opening.build.time_zone)
    there = step.happened_at.astimezone(zone)
    when = _("at %(time)s") % {"time": time_format(there, "G:i")}
    if there.date() != now.astimezone(zone).date():
        when = _("%(time)s on %(day)s") % {"time": when, "day": date_format(there, "j F Y")}
    if step.state == Plank.State.SPOILED:
        raise Conflict(_("The plank was spoiled %(when)s, after this was written down.") % {"when": when})
    raise Conflict(_("This strake was taken off %(when)s, after this was written down.") % {"when": when})


def begin_cutting(strake, *, person, now, set_widths=None, **times):
    """Mark a strake as being cut by a person; somebody else's mark is a Conflict until it fades.

    ``set_widths`` is what its card says to set, nm by station name, where the habit was taken off.
    """
    with transaction.atomic():
        hold_opening(strake.opening)
        _refuse_what_came_out_since(strake, now, times.get("happened_at"))
        revision = revision_in_force(strake.opening.build)
        plan = _plan_of(strake, revision)
        standing = strake.planks.filter(state__in=Plank.IN_PLACE).select_related("by").first()
        if standing and not _is_free_for(person, standing, now):
            raise Conflict(_("This strake is already in hand."), theirs=standing)
        if standing and standing.by_id == person.pk:
            return [standing]
        if standing:
            return _take_over(strake, person=person, now=now, **times)
        return _new_planks(
            strake, plan, revision, Plank.State.CUTTING, person=person, now=now, set_widths=set_widths, **times
        )


def _is_free_for(person, plank, now) -> bool:
    if plank.state != Plank.State.CUTTING:
        return False
    since = plank.steps.order_by("pk").values_list("happened_at", flat=True).last()
    return plank.by_id == person.pk or now - since >= CUTTING_FADES_AFTER


def _take_over(strake, *, person, now, **times):
    planks = list(strake.planks.filter(state=Plank.State.CUTTING))
    with transaction.atomic():
        for plank in planks:
            plank.by = person
            plank.save(update_fields=["by"])
            take_step(plank, Plank.State.CUTTING, person=person, now=now, **times)
    return planks


def _new_planks(
    strake, plan, revision, state, *, person, now, measured=Plank.Measured.MEASURED, lot=None, set_widths=None,
    **times,
):
    try:
        with transaction.atomic():
            planks = [
                Plank.objects.create(
                    strake=strake,
                    number=number,
                    revision=revision,
                    by=person,
                    lot=lot,
                    state=state,
                    measured=measured,
                    set_widths=set_widths or {},
                )
                for number in _numbers(plan)
            ]
            for plank in planks:
                take_step(plank, state, person=person, now=now, **times)
            raise_serial(strake.opening)
        return planks
    except IntegrityError:
        raise Conflict(_("This strake was taken in hand by somebody else a moment ago.")) from None


def move_strake(
    strake, state, *, person, now, measured=Plank.Measured.MEASURED, lot=None, set_widths=None, **times
):
    """Bring every plank of a strake to ``state`` (cut, dry-fitted or hung), making the rows where there are none.

    Doing it twice changes nothing: a double tap hangs one strake once. What came off since it happened is a Conflict.
    """
    with transaction.atomic():
        hold_opening(strake.opening)
        _refuse_what_came_out_since(strake, now, times.get("happened_at"))
        planks = list(strake.planks.filter(state__in=Plank.IN_PLACE).order_by("number"))
        if not planks:
            revision = revision_in_force(strake.opening.build)
            plan = _plan_of(strake, revision)
            planks = moved = _new_planks(
                strake, plan, revision, state, person=person, now=now, measured=measured, lot=lot,
                set_widths=set_widths, **times,
            )  # fmt: skip
        else:
            moved = _advance(planks, state, person=person, now=now, measured=measured, **times)
        if moved:
            raise_serial(strake.opening)
            tell_event(state, strake, build=strake.opening.build, now=now, person=person)
    return planks


def _advance(planks, state, *, person, now, measured, **times) -> list[Plank]:
    """Return those planks that were not so far yet, and now are."""
    order = [Plank.State.CUTTING, Plank.State.CUT, Plank.State.DRY_FITTED, Plank.State.HUNG]
    behind = [plank for plank in planks if order.index(plank.state) < order.index(state)]
    for plank in behind:
        if measured != Plank.Measured.MEASURED:
            plank.measured = measured
            plank.save(update_fields=["measured"])
        take_step(plank, state, person=person, now=now, **times)
    return behind


def hang_strake(strake, *, person, now, measured=Plank.Measured.MEASURED, **times):
    """Hang a whole strake; ``measured`` tells *hung, not measured* and *hung before this log* apart."""
    return move_strake(strake, Plank.State.HUNG, person=person, now=now, measured=measured, **times)


def cut_strake(strake, *, person, now, **times):
    return move_strake(strake, Plank.State.CUT, person=person, now=now, **times)


def dry_fit_strake(strake, *, person, now, **times):
    return move_strake(strake, Plank.State.DRY_FITTED, person=person, now=now, **times)


def unhang_strake(strake, *, person, now, reason, **times):
    """Take back a hanging that never was: each plank returns to the step before, or out of the hull."""
    with transaction.atomic():
        hold_opening(strake.opening)
        hung = list(strake.planks.filter(state=Plank.State.HUNG))
        if not hung:
            raise NotPossible(_("This strake does not hang."), field="strake")
        for plank in hung:
            before = plank.steps.exclude(state=Plank.State.HUNG).order_by("pk").last()
            state = before.state if before and before.state in Plank.IN_PLACE else Plank.State.TAKEN_OFF
            plank.measured = Plank.Measured.MEASURED
            plank.save(update_fields=["measured"])
            take_step(plank, state, person=person, now=now, reason=reason, **times)
        raise_serial(strake.opening)
        tell_event("hung by mistake", strake, build=strake.opening.build, now=now, person=person,
                   after={"reason": reason})  # fmt: skip
    return hung


def take_out_strake(strake, state, *, person, now, reason, **times):
    """Spoil, take off, or undo the hanging of a strake's planks, with a reason."""
    with transaction.atomic():
        hold_opening(strake.opening)
        planks = list(strake.planks.filter(state__in=Plank.IN_PLACE))
        if not planks:
            raise NotPossible(_("No plank of this strake is in place."), field="strake")
        for plank in planks:
            take_step(plank, state, person=person, now=now, reason=reason, **times)
        raise_serial(strake.opening)
        tell_event(
            state, strake, build=strake.opening.build, now=now, person=person, after={"reason": reason}
        )
    return planks
