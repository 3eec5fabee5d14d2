"""Strakes of a draft: what one is called and where it runs, another put in, one left out, the closing mark."""

from itertools import pairwise

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from buildlog.models import PlanPlank, PlanStrake, PlanWidth, Strake
from buildlog.queries.plan_strakes import butts_of, label_after, strake_as_seen
from buildlog.queries.plan_widths import draft_opening, locked_because, reaches

from .conflict import Conflict, NotPossible
from .events import tell_event
from .plan_widths import hold_draft, open_strake
from .plans import forget_strakes

Run = PlanStrake.Run


def change_strake(revision, opening, strake_uuid, *, label, kind, belt, spans, seen, person, now, butts=(), joins=""):
    """Change one strake of a draft. Widths at stations it does not reach any more go with the stretch."""
    with transaction.atomic():
        hold_draft(revision)
        draft = draft_opening(revision, opening)
        plan = open_strake(draft, strake_uuid).plan
        if strake_as_seen(plan) != seen:
            raise Conflict(_("Changed by another since you looked: both are shown."), theirs=plan)
        _label_is_free(draft, label, but=plan)
        before = strake_as_seen(plan)
        as_they_lie = plan.spans == spans and butts_of(plan) == list(butts)
        plan.label, plan.kind, plan.belt, plan.spans, plan.joins = label, kind, belt, spans, joins
        plan.save()
        if not as_they_lie:
            _lay_planks(plan, butts)
        gone = [station.pk for station in draft.stations if not reaches(plan, station)]
        PlanWidth.objects.filter(plan_strake=plan, station__in=gone).delete()
        tell_event("changed in a draft", plan, build=opening.build, now=now, person=person,
                   before={"strake": before}, after={"strake": strake_as_seen(plan)})  # fmt: skip
    return plan


def _lay_planks(plan, butts):
    """Plan the planks of a strake from butt to butt, a stretch apart from the next; where none ever was, one length."""
    had_planks = plan.planks.exists()
    plan.planks.all().delete()
    if not butts and not had_planks:
        return
    frames = {frame.number: frame for frame in plan.opening.build.frames.order_by("number")}
    stretches = plan.spans or [[min(frames), max(frames)]]
    ends = [
        pair for first, last in stretches
        for pair in pairwise([first, *(butt for butt in butts if first < butt < last), last])
    ]  # fmt: skip
    PlanPlank.objects.bulk_create(
        PlanPlank(plan_strake=plan, order=order, from_frame=frames[first], to_frame=frames[last])
        for order, (first, last) in enumerate(ends, start=1)
    )


def _label_is_free(draft, label, but=None):
    taken = {s.label.casefold(): s.label for s in draft.strakes if but is None or s.plan.pk != but.pk}
    if label.casefold() not in taken:
        return
    words = {"label": taken[label.casefold()]}
    words["free"] = label_after(words["label"], [s.label for s in draft.strakes])
    sentence = _("Label: this draft has a strake %(label)s already. Choose another.")
    if words["free"]:
        sentence = _("Label: this draft has a strake %(label)s already. Add a letter, such as %(free)s.")
    raise NotPossible(sentence % words, field="label")


def add_strake(revision, opening, *, beside, towards, label, kind, belt, spans, person, now, butts=(), joins=""):
    """Put a new strake beside another (its uuid), on the side ``towards`` "keel" or "wale"."""
    with transaction.atomic():
        hold_draft(revision)
        draft = draft_opening(revision, opening)
        _label_is_free(draft, label)
        place = _place_beside(draft, beside, towards)
        next_to = draft.strake(beside)
        plans = PlanStrake.objects.filter(revision=revision, opening=opening)
        _make_room(plans, place)
        run = towards if next_to and next_to.plan.run == Run.CLOSING else next_to.plan.run if next_to else Run.KEEL
        plan = PlanStrake.objects.create(
            revision=revision, opening=opening, strake=Strake.objects.create(opening=opening), belt=belt,
            label=label, position=place, run=run, kind=kind, spans=spans, joins=joins,
        )  # fmt: skip
        _lay_planks(plan, butts)
        tell_event("added to a draft", plan, build=opening.build, now=now, person=person, after={"label": label})
    return plan


def _place_beside(draft, beside, towards) -> int:
    """Return the position the new strake takes; between two hung strakes there is none."""
    if not draft.strakes:
        return 1
    index = next((i for i, s in enumerate(draft.strakes) if s.plan.strake.uuid == beside), None)
    if index is None:
        raise NotPossible(_("Beside: this strake is not in the draft any more."), field="beside")
    first = index + 1 if towards == "wale" else index
    around = draft.strakes[max(0, first - 1) : first + 1]
    if len(around) == 2 and all(one.is_hung for one in around):
        sentence = _("Beside: strakes %(a)s and %(b)s are hung side by side; nothing goes between them any more.")
        raise NotPossible(sentence % {"a": around[0].label, "b": around[1].label}, field="beside")
    _not_behind_a_hung_end(draft, first)
    return around[0].plan.position + 1 if first else draft.strakes[0].plan.position


def _not_behind_a_hung_end(draft, first):
    """At a fixed line a hung strake stands against the line itself."""
    lines = draft.opening
    ends = (
        (0, draft.strakes[0], lines.keel_line),
        (len(draft.strakes), draft.strakes[-1], lines.wale_line),
    )
    for place, strake, line in ends:
        if first == place and strake.is_hung:
            sentence = _("Beside: strake %(label)s is hung against the %(line)s; nothing goes between them any more.")
            raise NotPossible(sentence % {"label": strake.label, "line": line}, field="beside")


def _make_room(plans, place):
    """Move on those from a place on; from the far end, so that no two ever share a place."""
    for plan in plans.filter(position__gte=place).order_by("-position"):
        PlanStrake.objects.filter(pk=plan.pk).update(position=F("position") + 1)


def leave_out(revision, opening, strake_uuid, *, person, now):
    """Leave a strake out of a draft. The strake itself stays where anything else speaks of it."""
    with transaction.atomic():
        hold_draft(revision)
        strake = open_strake(draft_opening(revision, opening), strake_uuid)
        if strake.plan.run == Run.CLOSING:
            raise NotPossible(
                _("Strake %(label)s closes the opening. Give the closing mark to another first.")
                % {"label": strake.label}
            )
        tell_event("left out of a draft", strake.plan, build=opening.build, now=now, person=person,
                   before={"label": strake.label})  # fmt: skip
        PlanStrake.objects.filter(pk=strake.plan.pk).delete()
        forget_strakes([strake.plan.strake_id])


def move_closing(revision, opening, strake_uuid, *, person, now):
    """Give the closing mark to another strake: those keel side of it run from the keel, the rest from the wale."""
    with transaction.atomic():
        hold_draft(revision)
        draft = draft_opening(revision, opening)
        new = open_strake(draft, strake_uuid)
        runs = {s.label: _run_beside(s, new) for s in draft.strakes}
        for strake in draft.strakes:
            if strake.plan.run != runs[strake.label] and locked_because(strake):
                raise NotPossible(
                    _("Strake %(label)s is in hand or hung in the other run, so %(new)s cannot close the opening.")
                    % {"label": strake.label, "new": new.label}
                )
        was = {s.label: s.plan.run for s in draft.strakes if s.plan.run != runs[s.label]}
        # The old mark goes first: two closing strakes cannot stand beside each other even for a moment.
        changing = sorted((s for s in draft.strakes if s.label in was), key=lambda s: runs[s.label] == Run.CLOSING)
        for strake in changing:
            PlanStrake.objects.filter(pk=strake.plan.pk).update(run=runs[strake.label])
        tell_event("closing strake moved", new.plan, build=opening.build, now=now, person=person,
                   before=was, after={s.label: runs[s.label] for s in changing})  # fmt: skip
    return new.plan


def _run_beside(strake, closing) -> str:
    if strake.plan.pk == closing.plan.pk:
        return Run.CLOSING
    return Run.KEEL if strake.plan.position < closing.plan.position else Run.WALE
