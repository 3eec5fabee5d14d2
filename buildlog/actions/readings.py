"""Recording, amending and withdrawing readings."""

import hashlib
import json

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from buildlog.models import Amendment, Reading

from .conflict import Conflict
from .events import raise_serial, tell_event

# The times are not content: a reading sent again after a lost answer is the same reading.
_CONTENT = (
    "kind", "opening_id", "strake_id", "plank_id", "station_id", "from_line", "to_line", "value_nm",
    "missing_reason", "typed", "unit", "size", "kept_reason", "u_nm", "instrument_id", "method", "damp", "stage",
    "person_id",
)  # fmt: skip


def content_digest(reading: Reading) -> str:
    """Return the SHA-256 of what a reading says, by its canonical fields."""
    fields = {name: getattr(reading, name) for name in _CONTENT}
    return hashlib.sha256(json.dumps(fields, sort_keys=True, default=str).encode()).hexdigest()


def record_reading(build, *, client_uuid, now, happened_at=None, known_at=None, raises=True, **fields):
    """Record one reading and return ``(reading, created)``.

    The same ``client_uuid`` with the same content gives back the first row; with other content it is a Conflict.
    ``known_at`` is the first save on the phone and never lies in the future. Who records many at once raises the
    serial of their opening itself, once (``raises=False``).
    """
    reading = _new_reading(build, client_uuid, now=now, happened_at=happened_at, known_at=known_at, **fields)
    try:
        with transaction.atomic():
            reading.save(force_insert=True)
            if raises:
                raise_serial(reading.opening)
        return reading, True
    except IntegrityError:
        return _same_reading(build, reading), False


def record_new_readings(build, rows, *, now, happened_at=None, known_at=None):
    """Record readings that were never sent before, ``(client_uuid, fields)`` each, in one statement.

    Return them, or None where another post was first with one of them: then nothing was recorded.
    """
    times = dict(now=now, happened_at=happened_at, known_at=known_at)
    readings = [_new_reading(build, client_uuid, **times, **fields) for client_uuid, fields in rows]
    try:
        with transaction.atomic():
            return Reading.objects.bulk_create(readings)
    except IntegrityError:
        return None


def _new_reading(build, client_uuid, *, now, happened_at=None, known_at=None, **fields) -> Reading:
    happened_at = happened_at or now
    known_at = min(known_at or now, now)
    epoch = fields.pop("epoch", None) or epoch_at(fields.get("instrument"), happened_at)
    reading = Reading(
        build=build, client_uuid=client_uuid, happened_at=happened_at, known_at=known_at, received_at=now,
        epoch=epoch, **fields,
    )  # fmt: skip
    reading.content_sha256 = content_digest(reading)
    return reading


def _same_reading(build, reading) -> Reading:
    first = Reading.objects.filter(build=build, client_uuid=reading.client_uuid).first()
    if first is None:
        raise
    if first.content_sha256 != reading.content_sha256:
        raise Conflict(_("This reading was already sent with another figure."), theirs=first)
    return first


def epoch_at(instrument, moment):
    """Return the epoch of an instrument that a moment falls in; its first one for a moment before any."""
    if instrument is None:
        return None
    epochs = list(instrument.epochs.order_by("number"))
    started = [epoch for epoch in epochs if epoch.starts_at <= moment]
    return (started or epochs or [None])[-1 if started else 0]


def amend_reading(target, *, act, reason, person, now, new_reading=None, happened_at=None, known_at=None):
    """Replace, withdraw or put in doubt one reading. Two people amending one: the second meets a Conflict."""
    try:
        with transaction.atomic():
            amendment = Amendment.objects.create(
                target=target, act=act, reason=reason, person=person, new_reading=new_reading,
                happened_at=happened_at or now, known_at=min(known_at or now, now), received_at=now,
            )  # fmt: skip
            raise_serial(target.opening)
            tell_event(
                act, target, build=target.build, now=now, person=person,
                before={"value_nm": target.value_nm, "typed": target.typed},
                after={"value_nm": new_reading.value_nm, "typed": new_reading.typed} if new_reading else {},
            )  # fmt: skip
        return amendment
    except IntegrityError:
        theirs = Amendment.objects.filter(target=target).select_related("person", "new_reading").first()
        if theirs is None:
            raise
        raise Conflict(_("This reading was amended a moment ago by somebody else."), theirs=theirs) from None


def withdraw_readings(readings, *, reason, person, now):
    """Withdraw several readings at once, as *Undo* does."""
    with transaction.atomic():
        return [
            amend_reading(reading, act=Amendment.Act.WITHDRAWS, reason=reason, person=person, now=now)
            for reading in readings
        ]


def replace_reading(target, *, client_uuid, length, reason, person, account, now):
    """Put another figure in the place of a reading: taken at the same moment, known from now on.

    Sent twice, it is one amendment; somebody else's amendment of the same reading is a Conflict that carries it.
    """
    with transaction.atomic():
        new, created = record_reading(
            target.build, client_uuid=client_uuid, now=now, happened_at=target.happened_at, known_at=now,
            epoch=target.epoch, entered_by=account,
            **{name: getattr(target, name) for name in _TAKEN_OVER}
            | {"value_nm": length.nm, "typed": length.typed[:40], "unit": length.unit, "size": length.size,
               "missing_reason": "", "person": person},
        )  # fmt: skip
        standing = Amendment.objects.filter(target=target, new_reading=new).first()
        if not created and standing:
            return standing
        return amend_reading(
            target, act=Amendment.Act.REPLACES, reason=reason, person=person, now=now, new_reading=new
        )


# What a reading put in another's place says as that one did.
_TAKEN_OVER = (
    "kind", "opening", "strake", "plank", "station", "from_line", "to_line", "u_nm", "instrument", "method", "damp",
    "stage", "session",
)  # fmt: skip
