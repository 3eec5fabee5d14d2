"""How far the planks are off, added up: strake by strake, belt by belt, and carried from belt to belt.

Every figure shown is the difference of two rounded sums, so that rows add up to belts and belts to the run as shown.
"""

from dataclasses import dataclass, field

from django.utils.translation import gettext as _


@dataclass(frozen=True)
class Cell:
    """Hundredths of a mm off plan; None where the strake is not there; ``read`` false where it was reckoned."""

    hundredths: int | None
    read: bool = True

    @property
    def nm(self) -> int | None:
        return None if self.hundredths is None else self.hundredths * 10_000


@dataclass
class BeltDrift:
    name: str
    rows: list = field(default_factory=list)
    together: list = field(default_factory=list)
    carried: list = field(default_factory=list)

    @property
    def worst(self) -> int | None:
        """The place in the row of the station where the belt is furthest off."""
        known = [(abs(c.hundredths), index) for index, c in enumerate(self.together) if c.hundredths is not None]
        return max(known)[1] if known else None


@dataclass
class RunDrift:
    """One run of an opening: its belts in the order of hanging."""

    run: str
    belts: list = field(default_factory=list)


def drift_of(hull, opening, review) -> tuple[list, list[RunDrift]]:
    """Return the stations, aft to forward as in the pictures, and the runs with their belts."""
    stations = list(reversed(review.stations))
    belts = {s.label: s.plan.belt.name if s.plan.belt else "" for s in hull.strakes[opening.pk]}
    runs = []
    for run in ("wale", "keel"):
        labels = _order(stations, run)
        if labels:
            runs.append(RunDrift(run, _belts(labels, stations, run, belts)))
    return stations, runs


def _points(station, run):
    return station.wale_drift if run == "wale" else station.keel_drift


def _order(stations, run) -> list[str]:
    """Return the strakes of a run as they were hung; a drop strake is missing at some stations."""
    longest = max((_points(s, run) for s in stations), key=len, default=())
    labels = [p.strake for p in longest]
    for station in stations:
        for before, point in zip([None, *_points(station, run)], _points(station, run), strict=False):
            if point.strake not in labels:
                labels.insert(labels.index(before.strake) + 1 if before else 0, point.strake)
    return labels


def _belts(labels, stations, run, belts) -> list[BeltDrift]:
    found: list[BeltDrift] = []
    sums = [0] * len(stations)
    at_start = list(sums)
    for label in labels:
        name = belts.get(label, "")
        if not found or found[-1].name != name:
            found.append(BeltDrift(name))
            at_start = list(sums)
        cells, sums = _row(label, stations, run, sums)
        found[-1].rows.append((label, cells))
        found[-1].together = [Cell(now - before) for now, before in zip(sums, at_start, strict=True)]
        found[-1].carried = [Cell(now) for now in sums]
    return found


def _row(label, stations, run, sums):
    cells, after = [], []
    for station, before in zip(stations, sums, strict=True):
        point = next((p for p in _points(station, run) if p.strake == label), None)
        now = before if point is None else round(point.cumulative_mm * 100)
        cells.append(Cell(None) if point is None else Cell(now - before, point.read_here))
        after.append(now)
    return cells, after


def belt_words(belt: BeltDrift, stations) -> str:
    """Return where a belt stands at its worst, in one line."""
    if belt.worst is None:
        return _("not measured")
    cell, station = belt.together[belt.worst], stations[belt.worst].station
    amount = f"{abs(cell.hundredths) / 100:.2f}"
    if cell.hundredths == 0:
        return _("on plan")
    word = _("wide by %(amount)s at %(station)s") if cell.hundredths > 0 else _("narrow by %(amount)s at %(station)s")
    return word % {"amount": amount, "station": station}
