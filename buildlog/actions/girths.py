"""Recording girths by station, each figure once, and what the drawing says of them."""

from django.db import transaction

from buildlog.models import PlanGirth, PlanOpening, PlanStrake, PlanWidth, Reading
from buildlog.queries.girths import drawing_girths

from .events import hold_build, raise_serial, tell_event
from .gaps import fields_of
from .readings import record_reading
from .sessions import session_for
from .widths import Saved


def record_girths(
    build, opening, takes, *, method, instrument, person, account, now, jaws_reason="", happened_at=None, known_at=None
):
    """Record girth readings, line to line along the frame, and return what was ``Saved``."""
    saved = Saved()
    with transaction.atomic():
        session = session_for(build, person=person, now=now, side=opening.side, happened_at=happened_at)
        for take in takes:
            fields = fields_of(take, jaws_reason)
            saved.keep(
                take.name,
                lambda take=take, fields=fields: record_reading(
                    build, client_uuid=take.client_uuid, now=now, kind=Reading.Kind.GIRTH, opening=opening,
                    station=take.station, from_line=opening.keel_line, to_line=opening.wale_line, method=method,
                    instrument=instrument, session=session, person=person, entered_by=account,
                    happened_at=happened_at, known_at=known_at, **fields,
                ),
            )  # fmt: skip
    return saved


def set_drawing_girths(revision, openings, typed, *, person, now, reasons=None):
    """Write what the drawing says at each station, for all sides alike; ``typed`` maps stations to nm or None.

    Only what is new is written, so that the same page sent twice leaves everything as it was. ``reasons`` say why an
    odd figure was kept, by the name of its station.
    """
    with transaction.atomic():
        hold_build(revision.build)
        drawn, changed = drawing_girths(revision), {}
        for opening in openings:
            new = {at: nm for at, nm in typed.items() if drawn.get((opening.pk, at.pk)) != nm}
            if not new:
                continue
            plan, _new = PlanOpening.objects.get_or_create(revision=revision, opening=opening)
            for station, nm in new.items():
                _set_one(plan, station, nm)
            raise_serial(opening)
            changed |= {station.name: nm for station, nm in new.items()}
        if changed:
            changed |= {"reasons": reasons} if reasons else {}
            tell_event("wrote drawing girths", revision, build=revision.build, now=now, person=person, after=changed)
    return changed


def _set_one(plan, station, nm):
    if not PlanGirth.objects.filter(plan_opening=plan, station=station).update(drawing_nm=nm):
        planned = _planned_nm(plan, station) or nm
        PlanGirth.objects.create(plan_opening=plan, station=station, girth_nm=planned, drawing_nm=nm)


def _planned_nm(plan, station) -> int:
    """Return what the widths and seams planned at a station come to, so that its sum still closes to zero."""
    strakes = PlanStrake.objects.filter(revision=plan.revision, opening=plan.opening)
    widths = list(
        PlanWidth.objects.filter(plan_strake__in=strakes, station=station).values_list("width_nm", flat=True)
    )
    return sum(widths) + (len(widths) + 1) * plan.planned_seam_nm if widths else 0
