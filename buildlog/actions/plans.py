"""The plan: drafting a revision, copying one, putting one in force."""

from django.db import transaction
from django.db.models import F, Max, ProtectedError
from django.utils.translation import gettext as _

from buildlog.models import (
    CardPrint,
    PlanBelt,
    PlanGirth,
    PlanOpening,
    PlanPlank,
    PlanRevision,
    PlanStrake,
    PlanWidth,
    Strake,
)

from .conflict import Conflict
from .events import hold_build, raise_serials_of_build, tell_event


def draft_revision(build, *, reason, person, now, accepted_by_eye=False, happened_at=None, known_at=None):
    """Begin an empty revision."""
    return PlanRevision.objects.create(
        build=build, reason=reason, proposed_by=person, accepted_by_eye=accepted_by_eye,
        happened_at=happened_at or now, known_at=min(known_at or now, now), received_at=now,
    )  # fmt: skip


def copy_revision(source, *, reason, person, now, **fields):
    """Begin a revision that says all that ``source`` says: openings, belts, strakes and widths, in full."""
    with transaction.atomic():
        revision = draft_revision(source.build, reason=reason, person=person, now=now, **fields)
        PlanRevision.objects.filter(pk=revision.pk).update(based_on=source)
        revision.based_on = source
        _copy_openings(source, revision)
        belts = _copy_belts(source, revision)
        _copy_strakes(source, revision, belts)
    return revision


def _copy(row, **changes):
    """Return an unsaved twin of a row under another parent, with a name of its own."""
    skip = {"id", "uuid"}
    fields = {f.attname: getattr(row, f.attname) for f in row._meta.concrete_fields if f.name not in skip}
    twin = type(row)(**fields)
    for name, value in changes.items():
        setattr(twin, name, value)
    return twin


def _write_all(model, twins) -> dict:
    """Write the twins of some rows, by the key of the row each was copied from, in as few statements as may be."""
    model.objects.bulk_create(twins.values())
    return twins


def _copy_openings(source, revision):
    twins = {plan.pk: _copy(plan, revision=revision) for plan in source.openings.all()}
    _write_all(PlanOpening, twins)
    girths = PlanGirth.objects.filter(plan_opening__revision=source).order_by("pk")
    _write_all(PlanGirth, {girth.pk: _copy(girth, plan_opening=twins[girth.plan_opening_id]) for girth in girths})


def _copy_belts(source, revision) -> dict:
    return _write_all(PlanBelt, {belt.pk: _copy(belt, revision=revision) for belt in source.belts.all()})


def _copy_strakes(source, revision, belts):
    twins = {
        plan.pk: _copy(plan, revision=revision, belt=belts.get(plan.belt_id)) for plan in source.strakes.all()
    }
    _write_all(PlanStrake, twins)
    for model in (PlanWidth, PlanPlank):
        rows = model.objects.filter(plan_strake__revision=source).order_by("pk")
        _write_all(model, {row.pk: _copy(row, plan_strake=twins[row.plan_strake_id]) for row in rows})


def put_in_force(revision, *, person, now, happened_at=None, known_at=None):
    """Number a revision and let it rule from now on. Twice is a Conflict; cards of the old one are void."""
    happened_at = happened_at or now
    with transaction.atomic():
        hold_build(revision.build)
        last = PlanRevision.objects.filter(build=revision.build).aggregate(n=Max("number"))["n"] or 0
        PlanRevision.objects.filter(build=revision.build, state=PlanRevision.State.IN_FORCE).update(
            state=PlanRevision.State.PAST, in_force_until=happened_at
        )
        waiting = PlanRevision.objects.filter(
            pk=revision.pk, state__in=[PlanRevision.State.DRAFT, PlanRevision.State.PROPOSED]
        )
        if not waiting.update(
            state=PlanRevision.State.IN_FORCE, number=last + 1, decided_by=person, in_force_from=happened_at,
            version=F("version") + 1,
        ):  # fmt: skip
            raise Conflict(_("This revision was already put in force."))
        revision.refresh_from_db()
        void_cards(revision, now=happened_at)
        raise_serials_of_build(revision.build)
        tell_event("put in force", revision, build=revision.build, now=now, person=person,
                   after={"number": revision.number, "reason": revision.reason})  # fmt: skip
    return revision


def delete_revision(revision):
    """Delete a draft, and the strakes that were made for it alone."""
    strakes = list(revision.strakes.values_list("strake_id", flat=True))
    revision.delete()
    forget_strakes(strakes)


def forget_strakes(pks):
    """Delete those strakes that no plan holds any more and nothing else in the log speaks of."""
    for strake in Strake.objects.filter(pk__in=pks, plans=None):
        try:
            strake.delete()
        except ProtectedError:
            continue  # A note, a photograph or a reading names it.


def void_cards(revision, *, now):
    """Void the cards printed from other revisions whose widths are no longer the ones in force."""
    standing = CardPrint.objects.filter(
        plan_strake__revision__build=revision.build, voided_at__isnull=True
    ).exclude(plan_strake__revision=revision)
    plans = {p.strake_id: p for p in revision.strakes.prefetch_related("widths__station")}
    for card in standing.select_related("plan_strake"):
        plan = plans.get(card.plan_strake.strake_id)
        now_says = {w.station.name: w.width_nm for w in plan.widths.all()} if plan else {}
        if any(now_says.get(name) != width for name, width in card.widths.items()) or not plan:
            card.voided_at = now
            card.save(update_fields=["voided_at"])


def plan_opening(revision, opening, **fields):
    return PlanOpening.objects.create(revision=revision, opening=opening, **fields)


def plan_belt(revision, opening, *, name, position, at_line=PlanBelt.AtLine.CARRY):
    return PlanBelt.objects.create(
        revision=revision, opening=opening, name=name, position=position, at_line=at_line
    )


def plan_strake(revision, strake, *, label, position, run, widths_nm, belt=None, **fields):
    """Write one strake of a revision; ``widths_nm`` maps stations to whole nanometres on the model."""
    plan = PlanStrake.objects.create(
        revision=revision, opening=strake.opening, strake=strake, belt=belt, label=label, position=position,
        run=run, **fields,
    )  # fmt: skip
    PlanWidth.objects.bulk_create(
        [PlanWidth(plan_strake=plan, station=station, width_nm=nm) for station, nm in widths_nm.items()]
    )
    return plan
