"""Recording the gap of one opening, each figure once."""

from django.db import transaction

from buildlog.models import Reading

from .events import raise_serial
from .readings import epoch_at, record_reading
from .sessions import session_for
from .widths import Saved


def record_gaps(
    build,
    opening,
    takes,
    *,
    method,
    instrument,
    person,
    account,
    now,
    jaws_reason="",
    happened_at=None,
    known_at=None,
):
    """Record gap readings and return what was ``Saved``."""
    saved = Saved()
    with transaction.atomic():
        session = session_for(build, person=person, now=now, side=opening.side, happened_at=happened_at)
        epoch = epoch_at(instrument, happened_at or now)
        for take in takes:
            fields = fields_of(take, jaws_reason)
            saved.keep(
                take.name,
                lambda take=take, fields=fields: record_reading(
                    build, client_uuid=take.client_uuid, now=now, happened_at=happened_at, known_at=known_at,
                    raises=False, epoch=epoch, kind=Reading.Kind.GAP, opening=opening, station=take.station,
                    from_line=opening.keel_line,
                    to_line=opening.wale_line, method=method, instrument=instrument, session=session, person=person,
                    entered_by=account, **fields,
                ),
            )  # fmt: skip
        if saved.created:
            raise_serial(opening)
    return saved


def fields_of(take, jaws_reason):
    """Return what a reading keeps of one take."""
    length = take.length
    return {
        "value_nm": length.nm if length else None, "typed": length.typed[:40] if length else "",
        "unit": length.unit if length else "", "size": length.size if length else "model",
        "missing_reason": take.missing_reason, "kept_reason": take.kept_reason or jaws_reason,
    }  # fmt: skip
