"""Instruments: their epochs, zero checks and corrections. The readings keep what was read."""

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from buildlog.models import Epoch, Instrument, InstrumentEvent, ZeroCorrection

from .conflict import Conflict
from .events import raise_serials_of_build, tell_event

# Standard uncertainties in nm: of one reading, and of the zero while nothing is known against it.
USUAL_U_NM = {
    "caliper": (20_000, 20_000), "micrometer": (10_000, 10_000), "rule": (150_000, 50_000),
    "strip": (100_000, 20_000), "tape": (200_000, 50_000), "dividers": (150_000, 50_000),
}  # fmt: skip
U_ZERO_AFTER_KNOCK_NM = 50_000


def _times(now, happened_at=None, known_at=None):
    return {"happened_at": happened_at or now, "known_at": min(known_at or now, now), "received_at": now}


def add_instrument(build, *, name, kind, person, now, owner=None, happened_at=None, known_at=None, **fields):
    """Add an instrument with its first epoch."""
    usual, usual_zero = USUAL_U_NM[kind]
    fields.setdefault("u_nm", usual)
    times = _times(now, happened_at, known_at)
    try:
        with transaction.atomic():
            instrument = Instrument.objects.create(build=build, name=name, kind=kind, owner=owner, **fields)
            epoch = _begin_epoch(instrument, times["happened_at"], usual_zero)
            InstrumentEvent.objects.create(
                instrument=instrument, epoch=epoch, kind=InstrumentEvent.Kind.NEW, person=person, **times
            )
            tell_event("added", instrument, build=build, now=now, person=person)
    except IntegrityError:
        raise Conflict(_("An instrument of this name is already in the register.")) from None
    return instrument


def _begin_epoch(instrument, starts_at, u_zero_nm):
    last = instrument.epochs.order_by("-number").first()
    return Epoch.objects.create(
        instrument=instrument, number=last.number + 1 if last else 1, starts_at=starts_at, u_zero_nm=u_zero_nm
    )


def tell_zero_may_have_moved(instrument, *, person, now, note="", happened_at=None, known_at=None):
    """Begin a new epoch: from here on the zero is not the one that was checked."""
    times = _times(now, happened_at, known_at)
    with transaction.atomic():
        # The number of the new epoch is counted while nobody else can begin one.
        Instrument.objects.select_for_update(no_key=True).get(pk=instrument.pk)
        epoch = _begin_epoch(instrument, times["happened_at"], U_ZERO_AFTER_KNOCK_NM)
        event = InstrumentEvent.objects.create(
            instrument=instrument, epoch=epoch, kind=InstrumentEvent.Kind.ZERO_MAY_HAVE_MOVED,
            person=person, note=note, **times,
        )  # fmt: skip
        raise_serials_of_build(instrument.build)
        tell_event("zero may have moved", instrument, build=instrument.build, now=now, person=person)
    return event


def check_zero(instrument, *, offset_nm, u_nm, person, now, note="", happened_at=None, known_at=None):
    """Keep what the instrument read with its jaws shut. It speaks of the epoch it was read in.

    Where a correction stands and the check reads something else, or where it finds nought after a check that was
    off, the zero was set anew since: a new epoch begins, and what was read before keeps the zero of before.
    """
    times = _times(now, happened_at, known_at)
    with transaction.atomic():
        Instrument.objects.select_for_update(no_key=True).get(pk=instrument.pk)
        epoch = instrument.epochs.filter(starts_at__lte=times["happened_at"]).order_by("-number").first()
        epoch = epoch or instrument.epochs.order_by("number").first()
        if _was_set_anew(epoch, offset_nm, instrument, times["happened_at"]):
            epoch = _begin_epoch(instrument, times["happened_at"], USUAL_U_NM[instrument.kind][1])
        event = InstrumentEvent.objects.create(
            instrument=instrument, epoch=epoch, kind=InstrumentEvent.Kind.ZERO_CHECK,
            offset_nm=offset_nm, u_nm=u_nm, person=person, note=note, **times,
        )  # fmt: skip
        raise_serials_of_build(instrument.build)
        tell_event("zero checked", instrument, build=instrument.build, now=now, person=person)
    return event


def _was_set_anew(epoch, offset_nm, instrument, moment) -> bool:
    within = 2 * instrument.u_nm
    standing = epoch.corrections.filter(withdrawn_at=None).first()
    if standing is not None:
        return abs(offset_nm - standing.offset_nm) > within
    checks = epoch.events.filter(offset_nm__isnull=False, happened_at__lte=moment).order_by("happened_at", "pk")
    last = checks.values_list("offset_nm", flat=True).last()
    if last is None or abs(last) <= within:
        return False
    return abs(offset_nm) <= within and abs(offset_nm - last) > within


def correct_zero(epoch, *, offset_nm, u_nm, reason, person, now, happened_at=None, known_at=None):
    """Take an offset off every reading of an epoch; undone by ``withdraw_correction``."""
    build = epoch.instrument.build
    try:
        with transaction.atomic():
            correction = ZeroCorrection.objects.create(
                epoch=epoch, offset_nm=offset_nm, u_nm=u_nm, reason=reason, person=person,
                **_times(now, happened_at, known_at),
            )  # fmt: skip
            raise_serials_of_build(build)
            tell_event("corrected zero", correction, build=build, now=now, person=person,
                       after={"offset_nm": offset_nm})  # fmt: skip
    except IntegrityError:
        raise Conflict(_("A correction already stands for these readings; withdraw it first.")) from None
    return correction


def withdraw_correction(correction, *, person, now):
    with transaction.atomic():
        ZeroCorrection.objects.filter(pk=correction.pk, withdrawn_at__isnull=True).update(
            withdrawn_at=now, withdrawn_by=person
        )
        raise_serials_of_build(correction.epoch.instrument.build)
        tell_event(
            "withdrew correction", correction, build=correction.epoch.instrument.build, now=now, person=person
        )
