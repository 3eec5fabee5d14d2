"""How far the planks are off, added up: strake by strake, belt by belt, and carried from belt to belt.

Every figure is exact until it is shown and is rounded by itself, as on the strake's own page and on the map; a sum
may so stand a hundredth off the figures over it. Where a row is worst is told by the exact figures.
"""

from dataclasses import dataclass, field
from fractions import Fraction

from django.utils.translation import gettext as _

from buildlog.models import NM_PER_MM, PlanBelt


@dataclass(frozen=True)
class Cell:
    """How far off plan, nm; None where the strake is not there; ``read`` false where it was reckoned."""

    nm: int | None
    read: bool = True

    @property
    def hundredths(self) -> int | None:
        """What is shown of it, in hundredths of a mm."""
        return None if self.nm is None else round(Fraction(self.nm, 10_000))

    @property
    def is_nought(self) -> bool:
        return self.hundredths == 0


@dataclass(frozen=True)
class Row:
    """One strake: a cell a station, and where it is furthest off."""

    label: str
    cells: list
    worst: str


@dataclass
class BeltDrift:
    name: str
    rows: list = field(default_factory=list)
    together: list = field(default_factory=list)
    carried: list = field(default_factory=list)
    into: str = ""
    # Held at its batten line: the last strake is made to the line, so nothing goes on to the next belt.
    is_held: bool = False
    worst_at: str = ""
    carried_at: str = ""

    @property
    def worst(self) -> int | None:
        """The place in the row of the station where the belt is furthest off."""
        return worst_of(self.together)


def worst_of(cells) -> int | None:
    """Return the place in a row of the station where it is furthest off; None where no figure shows any."""
    known = [(abs(cell.nm), index) for index, cell in enumerate(cells) if cell.hundredths]
    return max(known)[1] if known else None


@dataclass
class RunDrift:
    """One run of an opening: its belts in the order of hanging."""

    run: str
    belts: list = field(default_factory=list)
    # The belt that the run has come to: what it carries is carried into there. Empty where nothing is left to hang.
    into: str = ""

    @property
    def is_held(self) -> bool:
        """Say whether the belt it has come through was made to its line, so that nothing is carried on."""
        return self.belts[-1].is_held and self.belts[-1].name != self.into

    @property
    def carried(self) -> list[Cell]:
        """What the whole run leaves at each station."""
        return self.belts[-1].carried


def drift_of(hull, opening, review) -> tuple[list, list[RunDrift]]:
    """Return the stations, aft to forward as in the pictures, and the runs with their belts."""
    stations = list(reversed(review.stations))
    strakes = hull.strakes[opening.pk]
    belts = {s.label: s.plan.belt for s in strakes}
    runs = []
    for run in ("wale", "keel"):
        labels = _order(stations, run)
        if labels:
            found = RunDrift(run, _belts(labels, stations, run, belts), _next_belt(strakes, run))
            _say_where_to(found, stations)
            runs.append(found)
    return stations, runs


def _next_belt(strakes, run) -> str:
    """Return the belt of the strake that hangs next in a run, which may be the closing one."""
    order = strakes if run == "keel" else list(reversed(strakes))
    left = next((s for s in order if s.plan.run in (run, "closing") and not s.is_hung), None)
    return left.plan.belt.name if left and left.plan.belt else ""


def _say_where_to(run, stations):
    """Name under each belt the one that takes what is carried on; the last one may be half hung itself."""
    for belt, after in zip(run.belts, [*(belt.name for belt in run.belts[1:]), run.into], strict=True):
        belt.into = after if after != belt.name else ""
        belt.worst_at, belt.carried_at = _worst_name(belt.together, stations), _worst_name(belt.carried, stations)


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
        belt = belts.get(label)
        name = belt.name if belt else ""
        if not found or found[-1].name != name:
            found.append(BeltDrift(name, is_held=bool(belt) and belt.at_line == PlanBelt.AtLine.HOLD))
            starts = exact
        points = [next((p for p in _points(s, run) if p.strake == label), None) for s in stations]
        exact = [now if p is None else p.cumulative_mm for p, now in zip(points, exact, strict=True)]
        cells = [Cell(None) if p is None else Cell(_nm(p.deviation_mm), p.read_here) for p in points]
        found[-1].rows.append(Row(label, cells, _worst_name(cells, stations)))
        found[-1].together = [Cell(_nm(now - start)) for now, start in zip(exact, starts, strict=True)]
        found[-1].carried = [Cell(_nm(now)) for now in exact]
    return found


def _nm(mm: float) -> int:
    return round(mm * NM_PER_MM)


def _worst_name(cells, stations) -> str:
    worst = worst_of(cells)
    return stations[worst].station if worst is not None else ""


def belt_words(belt: BeltDrift, stations) -> str:
    """Return where a belt stands at its worst, in one line."""
    return row_words(belt.together, stations)


def row_words(cells, stations) -> str:
    """Return how far a row of the table is off at its worst station, and which that is."""
    worst = worst_of(cells)
    if worst is None:
        return _("on plan") if any(cell.hundredths is not None for cell in cells) else _("not measured")
    cell, station = cells[worst], stations[worst].station
    word = _("wide by %(amount)s at %(station)s") if cell.hundredths > 0 else _("narrow by %(amount)s at %(station)s")
    return word % {"amount": f"{abs(cell.hundredths) / 100:.2f}", "station": station}
