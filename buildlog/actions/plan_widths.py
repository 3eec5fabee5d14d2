"""Widths of a draft of the plan: one cell, a row of cells, and what is left at a station given away."""

from dataclasses import dataclass

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from buildlog.models import PlanRevision, PlanWidth
from buildlog.queries.plan_widths import draft_opening, locked_because, reaches

from .conflict import Conflict, NotPossible
from .events import hold_build, tell_event


@dataclass(frozen=True)
class CellTyped:
    """One cell as it was sent: ``seen_nm`` is what stood there when it was typed (None: nothing did)."""

    station: object
    seen_nm: int | None
    nm: int | None
    typed: str = ""
    unit: str = ""
    size: str = "model"
    what: str = "width"


class CellsConflict(Conflict):
    """Some cells were changed by another meanwhile; ``theirs`` maps station pk to the nm that stands there."""


def hold_draft(revision):
    """Hold the build and make sure that the revision is a draft still; return it as it is now."""
    hold_build(revision.build)
    held = PlanRevision.objects.select_for_update(no_key=True).get(pk=revision.pk)
    if held.state != PlanRevision.State.DRAFT:
        raise NotPossible(_("This revision is no draft any more, so its plan stands. Begin another draft."))
    PlanRevision.objects.filter(pk=held.pk).update(version=F("version") + 1)
    return held


def write_cells(revision, opening, strake_uuid, cells, *, person, now):
    """Write cells of one strake; a strake in hand or hung is refused, a cell changed meanwhile a Conflict.

    Nothing is written where one cell is refused, so what is on the screen stays what is to be sent again.
    Returns the draft as it stands then.
    """
    with transaction.atomic():
        hold_draft(revision)
        draft = draft_opening(revision, opening)
        strake = open_strake(draft, strake_uuid)
        _must_reach(strake, cells)
        _nobody_else(strake, cells)
        changed = [cell for cell in cells if _differs(strake, cell)]
        if changed:
            _tell(strake, changed, person=person, now=now)
        for cell in changed:
            _write(strake, cell)
    return draft


def open_strake(draft, strake_uuid):
    """Return a strake of the draft that a plan may change, or refuse with the reason."""
    strake = draft.strake(strake_uuid)
    if strake is None:
        raise NotPossible(_("This strake is not in the draft any more."))
    reason = locked_because(strake)
    if reason:
        raise NotPossible(reason)
    return strake


def _must_reach(strake, cells):
    for cell in cells:
        if cell.nm is not None and not reaches(strake.plan, cell.station):
            raise NotPossible(
                _("Strake %(label)s does not reach %(at)s. Change its stretches first.")
                % {"label": strake.label, "at": cell.station.name}
            )
        if cell.what == "thickness" and cell.station.pk not in strake.widths:
            raise NotPossible(
                _("Strake %(label)s has no width at %(at)s yet, so it has no thickness there.")
                % {"label": strake.label, "at": cell.station.name}
            )


def _nm_at(strake, cell):
    return getattr(strake.widths.get(cell.station.pk), f"{cell.what}_nm", None)


def _nobody_else(strake, cells):
    theirs = {
        cell.station.pk: _nm_at(strake, cell)
        for cell in cells
        if _nm_at(strake, cell) not in (cell.seen_nm, cell.nm)
    }
    if theirs:
        raise CellsConflict(_("Changed by another since you looked."), theirs=theirs)


def _differs(strake, cell) -> bool:
    width = strake.widths.get(cell.station.pk)
    if cell.what == "thickness":
        return _nm_at(strake, cell) != cell.nm
    if width is None or cell.nm is None:
        return (width is None) != (cell.nm is None)
    return (width.width_nm, width.typed, width.size) != (cell.nm, cell.typed, cell.size)


def _write(strake, cell):
    """Write one cell, and let the draft in hand say the same as its row."""
    if cell.what == "thickness":
        width = strake.widths[cell.station.pk]
        width.thickness_nm = cell.nm
        width.save(update_fields=["thickness_nm"])
        return
    if cell.nm is None:
        PlanWidth.objects.filter(plan_strake=strake.plan, station=cell.station).delete()
        strake.widths.pop(cell.station.pk, None)
        return
    strake.widths[cell.station.pk], _made = PlanWidth.objects.update_or_create(
        plan_strake=strake.plan, station=cell.station,
        defaults={"width_nm": cell.nm, "typed": cell.typed[:40], "unit": cell.unit[:8], "size": cell.size},
    )  # fmt: skip


def _tell(strake, cells, *, person, now):
    plan = strake.plan
    verb = "planned thickness" if cells[0].what == "thickness" else "planned widths"
    tell_event(
        verb, plan, build=plan.opening.build, now=now, person=person,
        before={c.station.name: _nm_at(strake, c) for c in cells},
        after={c.station.name: c.nm for c in cells},
    )  # fmt: skip


def put_shares(revision, opening, shares, *, person, now):
    """Write the widths that a division came to; ``shares`` maps station to {strake uuid: nm}.

    Where the plan changed since the division was made, a station would no longer close: a Conflict, and
    nothing is written.
    """
    with transaction.atomic():
        hold_draft(revision)
        draft = draft_opening(revision, opening)
        told = {}
        for station, by_strake in shares.items():
            for uuid, nm in by_strake.items():
                cell = CellTyped(station, None, nm)
                _must_reach(open_strake(draft, uuid), [cell])
                told.setdefault(uuid, []).append(cell)
        for uuid, cells in told.items():
            _tell(draft.strake(uuid), cells, person=person, now=now)
            for cell in cells:
                _write(draft.strake(uuid), cell)
        if any(draft.sum_at(station).left_nm != 0 for station in shares):
            raise Conflict(_("The plan was changed by another while this was divided. Look at the sum again."))
    return told
