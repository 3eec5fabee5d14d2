"""Instruments with the state of their zero."""

from dataclasses import dataclass

from buildlog.models import Epoch, Instrument, InstrumentEvent, PlanStrake, ZeroCorrection


@dataclass(frozen=True)
class InstrumentState:
    """``state``: sound, in_doubt (may have moved, not checked since), off (checked and not on nought), corrected."""

    instrument: Instrument
    epoch: Epoch
    state: str
    offset_nm: int | None = None
    correction: ZeroCorrection | None = None


def instruments_of(build) -> list[InstrumentState]:
    """Return the register, in-use ones in the order they were added. Four queries."""
    rows = Instrument.objects.filter(build=build, retired_at=None).select_related("owner")
    return [state_of(one) for one in rows.prefetch_related("epochs__events", "epochs__corrections")]


def state_of(instrument) -> InstrumentState:
    """Return how the zero of an instrument stands in its present epoch."""
    epoch = max(instrument.epochs.all(), key=lambda e: e.number)
    correction = next((c for c in epoch.corrections.all() if c.withdrawn_at is None), None)
    events = list(epoch.events.all())
    checks = [e for e in events if e.offset_nm is not None]
    last = checks[-1].offset_nm if checks else None
    if correction is not None:
        return InstrumentState(instrument, epoch, "corrected", last, correction)
    if last is not None and abs(last) > 2 * instrument.u_nm:
        return InstrumentState(instrument, epoch, "off", last)
    moved = any(e.kind == InstrumentEvent.Kind.ZERO_MAY_HAVE_MOVED for e in events)
    return InstrumentState(instrument, epoch, "in_doubt" if moved and last is None else "sound", last)


def history_of(instrument) -> list[InstrumentEvent]:
    return list(instrument.events.select_related("person").order_by("-happened_at", "-pk"))


def corrections_of(instrument) -> list[ZeroCorrection]:
    rows = ZeroCorrection.objects.filter(epoch__instrument=instrument)
    return list(rows.select_related("epoch", "person", "withdrawn_by").order_by("-happened_at", "-pk"))


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
