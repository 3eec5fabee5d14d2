"""Instruments with the state of their zero."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _

from buildlog.models import Epoch, Instrument, InstrumentEvent, PlanStrake, Reading, ZeroCorrection


@dataclass(frozen=True)
class Zero:
    """How the zero of one epoch stands; the one rule of every page.

    ``state``: sound, in_doubt (may have moved, not checked since), off (the last check was not on nought and nobody
    corrected by it), corrected. A correction is what takes an offset off. A check that is off asks for one, and the
    readings are in doubt until then; one on nought, within twice the doubt of a reading, is weighed as it was read.
    """

    instrument: Instrument
    state: str
    checks: tuple[InstrumentEvent, ...]
    moved: InstrumentEvent | None
    correction: ZeroCorrection | None

    @property
    def last(self) -> InstrumentEvent | None:
        return self.checks[-1] if self.checks else None

    @property
    def offset_nm(self) -> int | None:
        """What the last check read."""
        return self.last.offset_nm if self.last else None

    @property
    def is_in_doubt(self) -> bool:
        return self.state in ("in_doubt", "off")

    @property
    def weighed(self) -> tuple[InstrumentEvent, ...]:
        """The checks that tell the zero: none where a correction does, nor where the last one asks for one."""
        return self.checks if self.state == "sound" else ()


def zero_told(instrument, events, correction) -> Zero:
    """Return how a zero stands by the events of its epoch, in the order they happened, and its correction."""
    within = 2 * instrument.u_nm
    checks = [event for event in events if event.offset_nm is not None]
    moved = next((event for event in events if event.kind == InstrumentEvent.Kind.ZERO_MAY_HAVE_MOVED), None)
    if correction is not None:
        state = "corrected"
    elif checks:
        state = "sound" if abs(checks[-1].offset_nm) <= within else "off"
    else:
        state = "in_doubt" if moved else "sound"
    if state == "sound":
        # An earlier one that was off is overtaken by the last.
        checks = [check for check in checks if abs(check.offset_nm) <= within]
    return Zero(instrument, state, tuple(checks), moved, correction)


def zero_of_epoch(epoch, as_of=None) -> Zero:
    """Return how the zero of an epoch stands, now or as it was known at a moment; its rows may be fetched before."""
    events, corrections = list(epoch.events.all()), list(epoch.corrections.all())
    if as_of is not None:
        events = [event for event in events if event.known_at <= as_of]
        corrections = [one for one in corrections if one.known_at <= as_of]
    standing = (one for one in corrections if one.withdrawn_at is None or (as_of and one.withdrawn_at > as_of))
    return zero_told(epoch.instrument, events, next(standing, None))


@dataclass(frozen=True)
class InstrumentState:
    """An instrument with the state of its zero in the present epoch, and whether readings of before wait."""

    instrument: Instrument
    epoch: Epoch
    state: str
    offset_nm: int | None = None
    correction: ZeroCorrection | None = None
    waits: bool = False


def instruments_of(build) -> list[InstrumentState]:
    """Return the register, in-use ones in the order they were added. Four queries, and one for each that was off."""
    rows = Instrument.objects.filter(build=build, retired_at=None).select_related("owner")
    return [state_of(one) for one in rows.prefetch_related("epochs__events", "epochs__corrections")]


def state_of(instrument) -> InstrumentState:
    """Return how the zero of an instrument stands in its present epoch."""
    epoch = max(instrument.epochs.all(), key=lambda e: e.number)
    zero, waits = zero_of_epoch(epoch), any(one.until for one in off_epochs_of(instrument))
    return InstrumentState(instrument, epoch, zero.state, zero.offset_nm, zero.correction, waits)


@dataclass(frozen=True)
class OffEpoch:
    """An epoch whose last check was off, and that nobody corrected. ``until`` is None while it runs."""

    epoch: Epoch
    check: InstrumentEvent
    readings: int
    until: datetime | None

    @property
    def offset_nm(self) -> int:
        return self.check.offset_nm

    @property
    def size_nm(self) -> int:
        return abs(self.offset_nm)

    @property
    def way(self) -> str:
        """What the readings would count as, once it is taken off."""
        return _("less") if self.offset_nm > 0 else _("more")


def off_epochs_of(instrument) -> list[OffEpoch]:
    """Return the epochs that ask for a correction, the newest first; of those that ended, the ones with readings."""
    epochs, found, until = sorted(instrument.epochs.all(), key=lambda e: -e.number), [], None
    for epoch in epochs:
        zero = zero_of_epoch(epoch)
        if zero.state == "off":
            found.append(OffEpoch(epoch, zero.last, readings_in_epoch(epoch), until))
        until = epoch.starts_at
    return [one for one in found if one.readings or one.until is None]


@dataclass(frozen=True)
class Corrected:
    """A correction with the readings it is of: since when, and until when where the epoch has ended."""

    row: ZeroCorrection
    since: datetime
    until: datetime | None

    @property
    def size_nm(self) -> int:
        return abs(self.row.offset_nm)


def history_of(instrument) -> list[InstrumentEvent]:
    return list(instrument.events.select_related("person").order_by("-happened_at", "-pk"))


def corrections_of(instrument) -> list[Corrected]:
    """Return every correction, withdrawn ones too, the newest first."""
    rows = ZeroCorrection.objects.filter(epoch__instrument=instrument)
    rows = rows.select_related("epoch", "person", "withdrawn_by").order_by("-happened_at", "-pk")
    starts = dict(instrument.epochs.values_list("number", "starts_at"))
    return [Corrected(row, row.epoch.starts_at, starts.get(row.epoch.number + 1)) for row in rows]


def zeros_behind(readings: Sequence[Reading], as_of=None) -> list[Zero]:
    """Return how the zeros behind some readings stand, where there is something to say of them."""
    epochs = {reading.epoch_id for reading in readings if reading.epoch_id}
    rows = Epoch.objects.filter(pk__in=epochs).select_related("instrument").order_by("instrument", "number")
    zeros = [zero_of_epoch(row, as_of) for row in rows.prefetch_related("events", "corrections")] if epochs else []
    return [zero for zero in zeros if zero.state != "sound" or zero.offset_nm]


def readings_in_epoch(epoch) -> int:
    """How many readings an epoch holds: those that a correction would move."""
    return epoch.readings.count()


def strakes_in_epoch(epoch) -> list[tuple[str, str]]:
    """Return side and newest label of each strake with readings in an epoch, as they were first read."""
    read = epoch.readings.filter(strake__isnull=False).order_by("happened_at", "pk").values_list("strake", flat=True)
    plans = PlanStrake.objects.filter(strake__in=set(read), revision__number__isnull=False)
    rows = plans.order_by("revision__number").values_list("strake", "opening__side", "label")
    named = {strake: (side, label) for strake, side, label in rows}
    return [named[strake] for strake in dict.fromkeys(read) if strake in named]
