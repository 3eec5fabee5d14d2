"""Which reading counts: a plank and station's latest dry one before sanding, *hung* before *cut*.

The others are shown with the reason why they do not count. Nothing is corrected here: a zero correction
belongs to the epoch, and each row names its epoch. As of a moment, only readings, amendments, steps and
dressings known by then are read.
"""

from dataclasses import dataclass, replace
from datetime import datetime

from django.utils.translation import gettext as _

from buildlog.models import Amendment, EdgeDressed, Epoch, Instrument, Plank, Reading, Strake

from .planks import came_off, steps_of_strakes

# Where a reading tells no doubt of its own: what hand and tool usually give, in nm (standard uncertainty).
USUAL_U_NM = {"jaws": 20_000, "dividers": 150_000, "paper_strip": 100_000, "tape": 200_000, "photo": 100_000}

# Where it is kept what came off, among the planks that are out.
_GAPS = "gaps"


@dataclass(frozen=True)
class CountingReading:
    """One reading that stands. ``value_nm`` is as read; whoever sums takes the epoch's correction off."""

    reading: Reading
    value_nm: int
    u_nm: int
    epoch: Epoch | None
    instrument: Instrument | None
    method: str
    stage: str
    happened_at: datetime
    known_at: datetime
    # The amendment's words where somebody put it in doubt; it counts, and is said to be in doubt.
    doubt: str = ""
    # An edge was dressed here after it was read, so the width is less sure.
    dressed: bool = False
    # Other standing readings of the same kind, stage and place: a repeat is simply another reading.
    repeats: int = 0


@dataclass(frozen=True)
class ShownReading:
    """A reading with whether it counts, and the reason where it does not."""

    reading: Reading
    counts: bool
    reason: str = ""
    # It stands, but a later take of the same stage counts instead.
    is_earlier_take: bool = False
    # It was read on a plank that is out of the hull, or over one.
    is_out: bool = False


@dataclass(frozen=True)
class CountingReadings:
    """What counts of an opening: widths by ``(strake pk, station pk)``, gaps and girths by station pk, latest first."""

    widths: dict
    gaps: dict
    girths: dict


def counting_readings(opening, as_of=None, known=None) -> CountingReadings:
    """Return the widths, gaps and girths that count, all out of one reading of the rows: eight queries at most.

    ``known`` holds what readings share, by name and pk, for a page that reads more than once.
    """
    judged = _judged(_readings(as_of, known, opening=opening, kind__in=["width", "gap", "girth"]), as_of)

    def of(kind):
        return {reading: why for reading, why in judged.items() if reading.kind == kind}

    return CountingReadings(_counting(of("width"), as_of), _standing(of("gap"), as_of), _standing(of("girth"), as_of))


def counting_widths(opening, as_of=None) -> dict[tuple[int, int], CountingReading]:
    """Return the width that counts for each ``(strake pk, station pk)`` of an opening. Eight queries at most."""
    return _counting(_judged(_readings(as_of, opening=opening, kind="width"), as_of), as_of)


def counting_thicknesses(opening, as_of=None) -> dict[tuple[int, int], CountingReading]:
    """Return the thickness that counts for each ``(strake pk, station pk)``, by the rule of widths."""
    return _counting(_judged(_readings(as_of, opening=opening, kind="thickness"), as_of), as_of)


def counting_gaps(opening, as_of=None) -> dict[int, list[CountingReading]]:
    """Return all standing gap readings of each station pk, latest first. Repeats stand beside each other."""
    return _standing(_judged_of(opening, "gap", as_of), as_of)


def counting_girths(opening, as_of=None) -> dict[int, list[CountingReading]]:
    """Return all standing girth readings of each station pk, latest first."""
    return _standing(_judged_of(opening, "girth", as_of), as_of)


def counting_edges(opening, as_of=None) -> dict[int, list[CountingReading]]:
    """Return all standing edge readings (a fixed line to a free edge) of each station pk, latest first."""
    return _standing(_judged_of(opening, "edge", as_of), as_of)


def all_readings(strake, as_of=None, known=None) -> list[ShownReading]:
    """Return every reading of a strake, forward to aft and by time, each with why it does not count."""
    judged = _judged(_readings(as_of, known, strake=strake, kind__in=["width", "thickness"]), as_of)
    winners = {_place(row.reading): row.reading for row in _winners(judged, as_of)}
    ordered = sorted(judged.items(), key=lambda row: (row[0].kind, row[0].station.position, *_moment(row[0])))
    return [_shown(reading, why, winners.get(_place(reading))) for reading, why in ordered]


def all_gap_readings(opening, as_of=None) -> list[ShownReading]:
    """Return every gap reading of an opening, forward to aft, latest first, amended ones with the reason."""
    readings = _readings(as_of, opening=opening, kind="gap")
    readings.sort(key=lambda reading: (reading.station.position, -reading.happened_at.timestamp()))
    out = _taken_out(readings, as_of)
    judged = [(reading, _why_not(reading, as_of, out), _why_out(reading, out)) for reading in readings]
    return [ShownReading(reading, not why, why, is_out=bool(why) and why == lost) for reading, why, lost in judged]


def readings_of_opening(opening, kind, as_of=None) -> list[ShownReading]:
    """Return every reading of one kind of an opening by time, with why it does not count."""
    readings = _readings(as_of, opening=opening, kind=kind)
    out = _taken_out(readings, as_of)
    judged = {reading: _why_not(reading, as_of, out) for reading in readings}
    winners = {}
    if kind in (Reading.Kind.WIDTH, Reading.Kind.THICKNESS):
        winners = {_place(row.reading): row.reading for row in _winners(judged, as_of)}
    return [
        replace(_shown(reading, why, winners.get(_place(reading), reading)), is_out=bool(_why_out(reading, out)))
        for reading, why in judged.items()
    ]


def _readings(as_of, known=None, **where):
    rows = Reading.objects.filter(**where)
    if as_of is not None:
        rows = rows.filter(known_at__lte=as_of)
    readings = list(rows.order_by("happened_at", "pk"))
    _know_what_they_share(readings, {} if known is None else known)
    return readings


def _know_what_they_share(readings, known):
    """Read each station, plank, person, instrument and epoch once, however many readings name it.

    A join would make them anew for every reading, which was most of the time of a review.
    """
    shared = {"station": None, "plank": "revision", "person": None, "instrument": None, "epoch": "instrument"}
    for name, along in shared.items():
        field = Reading._meta.get_field(name)
        here = known.setdefault(name, {})
        keys = {getattr(reading, field.attname) for reading in readings} - {None} - here.keys()
        if keys:
            here.update(field.related_model.objects.select_related(along).in_bulk(keys))
        for reading in readings:
            reading._state.fields_cache[name] = here.get(getattr(reading, field.attname))
    _know_amendments(readings)


def _know_amendments(readings):
    made = Amendment.objects.filter(target__in=readings).select_related("new_reading", "person")
    known = {amendment.target_id: amendment for amendment in made} if readings else {}
    cache = Reading._meta.get_field("amendment")
    for reading in readings:
        cache.set_cached_value(reading, known.get(reading.pk))


def _judged_of(opening, kind, as_of) -> dict[Reading, str]:
    return _judged(_readings(as_of, opening=opening, kind=kind), as_of)


def _judged(readings, as_of) -> dict[Reading, str]:
    """Return each reading with the reason why it can not count; "" where it can."""
    out = _taken_out(readings, as_of)
    return {reading: _why_not(reading, as_of, out) for reading in readings}


def amendment_of(reading, as_of=None) -> Amendment | None:
    """Return the amendment of a reading as it was known at ``as_of``."""
    amendment = getattr(reading, "amendment", None)
    if amendment and as_of is not None and amendment.known_at > as_of:
        return None
    return amendment


def _why_not(reading, as_of, out) -> str:
    amendment = amendment_of(reading, as_of)
    if reading.value_nm is None:
        return _("skipped: %(reason)s") % {"reason": reading.missing_reason}
    if amendment and amendment.act == Amendment.Act.REPLACES:
        return _("replaced by %(figure)s") % {"figure": amendment.new_reading.typed}
    if amendment and amendment.act == Amendment.Act.WITHDRAWS:
        return _("withdrawn: %(reason)s") % {"reason": amendment.reason}
    if reading.damp == Reading.Damp.DAMP:
        return _("read damp")
    if reading.stage == Reading.Stage.SANDED:
        return _("read after sanding")
    return _why_out(reading, out)


def _why_out(reading, out) -> str:
    if reading.kind == Reading.Kind.GAP and any(
        hung.since <= reading.happened_at < hung.until for hung in out.get(_GAPS, ())
    ):
        return _("read over a plank that was taken off since")
    state = out.get(("plank", reading.plank_id)) if reading.plank_id else None
    if state is None and not reading.plank_id:
        ended = out.get(("strake", reading.strake_id))
        state = ended[0] if ended and ended[1] > reading.happened_at else None
    if state is None:
        return ""
    return {
        Plank.State.SPOILED: _("read on a plank that was spoiled"),
        Plank.State.TAKEN_OFF: _("read on a plank that was taken off"),
    }.get(state, "")


def _taken_out(readings, as_of) -> dict:
    """Return which planks were spoiled or taken off: by plank pk, and by strake pk with the moment.

    A reading that names no plank is of the attempt that was in place when it was read. The strake's moment is
    the last one at which none of its planks stayed in place. With gaps among the readings, those read over a
    plank that came off are known too: the next plank there is another.
    """
    gaps = {reading.opening_id for reading in readings if reading.kind == Reading.Kind.GAP}
    strakes = {reading.strake_id for reading in readings if reading.strake_id}
    if not strakes and not gaps:
        return {}
    steps = steps_of_strakes(Strake.objects.filter(opening__in=gaps) if gaps else strakes, as_of)
    found, state = {_GAPS: came_off(steps) if gaps else []}, {}
    for step in steps:
        here = state.setdefault(step.strake_id, set())
        if step.state in Plank.IN_PLACE:
            here.add(step.plank_id)
            found.pop(("plank", step.plank_id), None)
            continue
        here.discard(step.plank_id)
        found["plank", step.plank_id] = step.state
        if not here:
            found["strake", step.strake_id] = (step.state, step.happened_at)
    return found


def _place(reading):
    return reading.kind, reading.strake_id, reading.station_id


def _moment(reading):
    return reading.happened_at, reading.pk


def _winners(judged, as_of) -> list[CountingReading]:
    places: dict[tuple, list[Reading]] = {}
    for reading, why in judged.items():
        if not why:
            places.setdefault(_place(reading), []).append(reading)
    won = []
    for rows in places.values():
        best = max(rows, key=lambda reading: (reading.stage == Reading.Stage.HUNG, *_moment(reading)))
        repeats = sum(reading.stage == best.stage for reading in rows) - 1
        won.append(_counting_reading(best, as_of, repeats=repeats))
    return won


def _counting(judged, as_of) -> dict[tuple[int, int], CountingReading]:
    won = _winners(judged, as_of)
    dressings = _dressings({reading.strake_id for reading in judged}, as_of)
    return {
        (row.reading.strake_id, row.reading.station_id):
            replace(row, dressed=True) if _is_dressed(row, dressings) else row
        for row in won
    }  # fmt: skip


def _dressings(strakes, as_of) -> list[EdgeDressed]:
    rows = EdgeDressed.objects.filter(strake__in=strakes).select_related("from_station", "to_station")
    if as_of is None:
        return list(rows.filter(withdrawn_at=None))
    return [one for one in rows.filter(known_at__lte=as_of) if one.withdrawn_at is None or one.withdrawn_at > as_of]


def _is_dressed(row, dressings) -> bool:
    at = row.reading.station.position
    for dressing in dressings:
        first, last = sorted([dressing.from_station.position, dressing.to_station.position])
        later = dressing.happened_at > row.happened_at
        if dressing.strake_id == row.reading.strake_id and later and first <= at <= last:
            return True
    return False


def _standing(judged, as_of) -> dict[int, list[CountingReading]]:
    found: dict[int, list[CountingReading]] = {}
    for reading in sorted((r for r, why in judged.items() if not why), key=_moment, reverse=True):
        found.setdefault(reading.station_id, []).append(_counting_reading(reading, as_of))
    return found


def _counting_reading(reading, as_of, repeats=0) -> CountingReading:
    amendment = amendment_of(reading, as_of)
    doubted = amendment is not None and amendment.act == Amendment.Act.DOUBTS
    usual = reading.instrument.u_nm if reading.instrument else USUAL_U_NM[reading.method]
    return CountingReading(
        reading=reading, value_nm=reading.value_nm, u_nm=reading.u_nm or usual, epoch=reading.epoch,
        instrument=reading.instrument, method=reading.method, stage=reading.stage,
        happened_at=reading.happened_at, known_at=reading.known_at, doubt=amendment.reason if doubted else "",
        repeats=repeats,
    )  # fmt: skip


def _shown(reading, why, winner) -> ShownReading:
    if why or winner == reading:
        return ShownReading(reading, not why, why)
    if reading.stage != winner.stage:
        return ShownReading(reading, False, _("read on the cut plank; the hung one counts"))
    return ShownReading(reading, False, _("an earlier take; the latest counts"), is_earlier_take=True)
