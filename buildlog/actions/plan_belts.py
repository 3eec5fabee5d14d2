"""Belts of a draft: neighbouring strakes planned together, and what happens at their batten line."""

from django.db import transaction
from django.utils.translation import gettext as _

from buildlog.models import PlanBelt, PlanStrake
from buildlog.queries.plan_belts import belt_as_seen
from buildlog.queries.plan_widths import draft_opening, locked_because

from .conflict import Conflict, NotPossible
from .events import tell_event
from .plan_widths import hold_draft


def write_belt(revision, opening, belt_uuid, *, name, at_line, first, last, seen="", person, now):
    """Write a belt, a new one where ``belt_uuid`` is None. ``first`` and ``last`` are uuids of its strakes."""
    with transaction.atomic():
        hold_draft(revision)
        draft = draft_opening(revision, opening)
        belt = _belt_to_change(draft, belt_uuid, seen)
        _name_is_free(draft, name, belt)
        members = _between(draft, first, last)
        before = belt_as_seen(belt, draft.strakes) if belt.pk else ""
        belt.name, belt.at_line = name, at_line
        belt.save()
        _take_in(draft, belt, members)
        put_in_order(revision, opening)
        tell_event("belt planned", belt, build=opening.build, now=now, person=person, before={"belt": before},
                   after={"belt": name, "at_line": at_line, "strakes": [s.label for s in members]})  # fmt: skip
    return belt


def _belt_to_change(draft, belt_uuid, seen) -> PlanBelt:
    rows = PlanBelt.objects.filter(revision=draft.revision, opening=draft.opening)
    if belt_uuid is None:
        last = rows.order_by("-position").values_list("position", flat=True).first() or 0
        return PlanBelt(revision=draft.revision, opening=draft.opening, position=last + 1)
    belt = rows.filter(uuid=belt_uuid).first()
    if belt is None:
        raise NotPossible(_("This belt is not in the draft any more."))
    if belt_as_seen(belt, draft.strakes) != seen:
        raise Conflict(_("Changed by another since you looked: both are shown."), theirs=belt)
    return belt


def _name_is_free(draft, name, belt):
    others = PlanBelt.objects.filter(revision=draft.revision, opening=draft.opening).exclude(pk=belt.pk)
    if any(other.name.casefold() == name.casefold() for other in others):
        sentence = _("Name: this side has a belt called %(name)s already.")
        raise NotPossible(sentence % {"name": name}, field="name")


def _between(draft, first, last) -> list:
    """Return the strakes of a belt from its keel side to its wale side, told in either order."""
    at = {s.plan.strake.uuid: index for index, s in enumerate(draft.strakes)}
    if first not in at or last not in at:
        raise NotPossible(_("One of the strakes is not in the draft any more."), field="first")
    low, high = sorted((at[first], at[last]))
    return draft.strakes[low : high + 1]


def _take_in(draft, belt, members):
    """Let the belt hold these strakes and no others. One that is in hand or hung keeps the belt it has."""
    wanted = {s.plan.pk for s in members}
    for strake in draft.strakes:
        here, is_wanted = strake.plan.belt_id == belt.pk, strake.plan.pk in wanted
        if here == is_wanted:
            continue
        if locked_because(strake) and strake.plan.belt_id:
            raise NotPossible(
                _("Strakes: %(label)s is in hand or hung, so it stays in the belt it has.") % {"label": strake.label},
                field="first",
            )
        PlanStrake.objects.filter(pk=strake.plan.pk).update(belt=belt if is_wanted else None)


def put_in_order(revision, opening):
    """Number the belts as their strakes lie, keel side first; one without strakes comes last.

    Numbered twice over, so that no two ever share a place on the way.
    """
    belts = list(PlanBelt.objects.filter(revision=revision, opening=opening).order_by("position"))
    places: dict[int, int] = {}
    rows = PlanStrake.objects.filter(revision=revision, opening=opening, belt__isnull=False).order_by("position")
    for belt, position in rows.values_list("belt_id", "position"):
        places.setdefault(belt, position)
    order = sorted(belts, key=lambda belt: (belt.pk not in places, places.get(belt.pk, 0), belt.position))
    beyond = max((belt.position for belt in belts), default=0) + len(belts)
    for start in (beyond, 0):
        for number, belt in enumerate(order, start=1):
            PlanBelt.objects.filter(pk=belt.pk).update(position=start + number)


def remove_belt(revision, opening, belt_uuid, *, person, now):
    """Take a belt out of a draft; its strakes stay, in no belt. Not where one of them is in hand or hung."""
    with transaction.atomic():
        hold_draft(revision)
        draft = draft_opening(revision, opening)
        belt = PlanBelt.objects.filter(revision=revision, opening=opening, uuid=belt_uuid).first()
        if belt is None:
            return
        held = [s.label for s in draft.strakes if s.plan.belt_id == belt.pk and locked_because(s)]
        if held:
            sentence = _("Strakes of this belt are in hand or hung (%(labels)s), so the belt stays.")
            raise NotPossible(sentence % {"labels": ", ".join(held)})
        tell_event("belt taken out", belt, build=opening.build, now=now, person=person, before={"belt": belt.name})
        belt.delete()
        put_in_order(revision, opening)
