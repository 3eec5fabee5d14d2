"""The zero of one instrument over time, as its picture is told it."""

import zoneinfo

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from buildlog.models import InstrumentEvent, Reading
from buildlog.pictures.drawing import three_cuts
from buildlog.pictures.instrument_line import Check, InstrumentLine, instrument_line

CUTS = (328, 720, 1178)
MOVED = InstrumentEvent.Kind.ZERO_MAY_HAVE_MOVED


def instrument_line_of(instrument, history, corrections):
    """Return the line in its cuts, or None where the zero was never checked nor in doubt."""
    zone = zoneinfo.ZoneInfo(instrument.build.time_zone or "UTC")

    def day(moment):
        return moment.astimezone(zone).date()

    events = sorted(history, key=lambda event: (event.happened_at, event.pk))
    checks = [event for event in events if event.offset_nm is not None]
    moved = [event for event in events if event.kind == MOVED]
    if not checks and not moved:
        return None
    moments = Reading.objects.filter(instrument=instrument).values_list("happened_at", flat=True)
    read = sorted({day(at) for at in moments})
    doubts = [(day(event.happened_at), _ended(event, checks, corrections, instrument)) for event in moved]
    days = [day(event.happened_at) for event in events] + read
    line = InstrumentLine(
        first=min(days), last=max(days),
        checks=tuple(Check(day(one.happened_at), one.offset_nm / 1e6) for one in checks),
        moved=tuple(day(event.happened_at) for event in moved),
        doubts=tuple((start, end and day(end)) for start, end in doubts),
        sessions=tuple(read), within_mm=2 * instrument.u_nm / 1e6,
    )  # fmt: skip
    summary = _summary(instrument, checks, doubts)
    return three_cuts([instrument_line(line, width, summary=summary) for width in CUTS])


def _ended(event, checks, corrections, instrument):
    """A doubt ends with a check that finds nought, or one whose epoch was corrected by what it found."""
    corrected = {one.epoch_id for one in corrections if one.withdrawn_at is None}
    for check in checks:
        sound = check.epoch_id in corrected or abs(check.offset_nm) <= 2 * instrument.u_nm
        if check.happened_at >= event.happened_at and sound:
            return check.happened_at
    return None


def _summary(instrument, checks, doubts) -> str:
    said = ngettext("%(name)s: %(n)d zero check", "%(name)s: %(n)d zero checks", len(checks)) % {
        "name": instrument.name, "n": len(checks),
    }  # fmt: skip
    if not doubts:
        return said + _("; never in doubt.")
    start, end = doubts[-1]
    if end is None:
        return said + _("; in doubt since %(start)s.") % {"start": f"{start.day} {start:%B} {start.year}"}
    return said + _("; in doubt from %(start)s to %(end)s.") % {
        "start": f"{start.day} {start:%B} {start.year}", "end": f"{end.day} {end:%B} {end.year}",
    }  # fmt: skip
