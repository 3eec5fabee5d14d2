"""How far the planks are off, added up: strake by strake, belt by belt, and carried from belt to belt.

Within a belt every figure is the difference of two rounded sums, so that its rows add up as shown. What is carried
on is the whole run's sum, rounded anew.
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
    exact = starts = [0.0] * len(stations)
    for label in labels:
        name = belts.get(label, "")
        if not found or found[-1].name != name:
            found.append(BeltDrift(name, together=[Cell(0)] * len(stations)))
            starts = exact
        points = [next((p for p in _points(s, run) if p.strake == label), None) for s in stations]
        exact = [now if p is None else p.cumulative_mm for p, now in zip(points, exact, strict=True)]
        after = [round((now - start) * 100) for now, start in zip(exact, starts, strict=True)]
        found[-1].rows.append((label, _row(points, found[-1].together, after)))
        found[-1].together = [Cell(hundredths) for hundredths in after]
        found[-1].carried = [Cell(round(now * 100)) for now in exact]
    return found


def _row(points, before, after) -> list[Cell]:
    return [
        Cell(None) if point is None else Cell(now - was.hundredths, point.read_here)
        for point, was, now in zip(points, before, after, strict=True)
    ]


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
