"""Recording the gap of one opening, each figure once."""

from django.db import transaction

from buildlog.models import Reading

from .events import raise_serial
from .readings import epoch_at
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
        shared = {
            "kind": Reading.Kind.GAP, "opening": opening, "from_line": opening.keel_line, "to_line": opening.wale_line,
            "method": method, "instrument": instrument, "session": session, "person": person, "entered_by": account,
            "epoch": epoch,
        }  # fmt: skip
        rows = {
            take.name: (take.client_uuid, shared | {"station": take.station} | fields_of(take, jaws_reason))
            for take in takes
        }
        saved.keep_all(build, rows, now=now, happened_at=happened_at, known_at=known_at)
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
