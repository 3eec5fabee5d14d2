"""Port beside starboard: every seam and every strake of two openings that lie opposite each other."""

from dataclasses import dataclass

from buildlog.models import Opening
from planking import opening as facts
from planking.cuts import belts
from planking.errors import PlankingError
from planking.port_starboard import EYE_AT_ENDS_MM, EYE_MM, SeamApart, Sides, seams_apart, sides

from .openings import facts_of


@dataclass(frozen=True)
class StrakeOfBoth:
    """One strake by the mean of its widths off what it was cut to, on each side; None where it was not read."""

    label: str
    port_mm: float | None
    starboard_mm: float | None
    limit_mm: float

    @property
    def apart_mm(self) -> float | None:
        return None if self.port_mm is None or self.starboard_mm is None else self.port_mm - self.starboard_mm

    @property
    def is_apart(self) -> bool:
        return self.apart_mm is not None and abs(self.apart_mm) > self.limit_mm


@dataclass(frozen=True)
class BothSides:
    """What a page shows of two sides; lengths in mm, strakes from the wale to the keel, stations forward to aft."""

    port: Opening
    starboard: Opening
    found: Sides
    seams: tuple[SeamApart, ...]
    strakes: tuple[StrakeOfBoth, ...]
    stations: tuple[str, ...]
    limit_mm: float = EYE_MM
    limit_at_ends_mm: float = EYE_AT_ENDS_MM

    @property
    def order(self) -> list[str]:
        return [one.label for one in self.strakes]


def both_sides(hull) -> list[BothSides]:
    """Return each pair of openings of the layer being planked that can be reckoned on both sides."""
    pairs: dict[int, dict[str, Opening]] = {}
    for opening in hull.openings_here():
        pairs.setdefault(opening.position, {})[opening.side] = opening
    found = [_both(pair, hull.as_of) for pair in pairs.values() if {"port", "starboard"} <= pair.keys()]
    return [one for one in found if one is not None]


def _both(pair, as_of) -> BothSides | None:
    try:
        port, starboard = facts_of(pair["port"], as_of), facts_of(pair["starboard"], as_of)
    except PlankingError:
        # The Hull page says which side cannot be reckoned, and why.
        return None
    if port is None or starboard is None:
        return None
    return BothSides(
        port=pair["port"], starboard=pair["starboard"], found=sides(port, starboard),
        seams=tuple(seams_apart(port, starboard)), strakes=tuple(_strakes(port, starboard)),
        stations=tuple(one.name for one in port.stations),
    )  # fmt: skip


def _strakes(port: facts.Opening, starboard: facts.Opening):
    ours, theirs = _means(port), _means(starboard)
    for strake in reversed(port.strakes):
        if strake.label not in ours and strake.label not in theirs:
            continue
        widths = list(strake.planned_mm.values())
        mean = sum(widths) / len(widths) if widths else 0.0
        yield StrakeOfBoth(
            strake.label, ours.get(strake.label), theirs.get(strake.label), port.limits.step_share * mean
        )


def _means(opening: facts.Opening) -> dict[str, float]:
    return {one.strake.label: one.mean_mm for belt in belts(opening) for one in belt}
