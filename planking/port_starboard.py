"""Port against starboard: do the seams meet the eye alike at stem, sternpost and wale?

Seams are compared, not widths: single widths that differ while the seams agree do not matter. With one
caliper and equal counts its zero cancels exactly.
"""

from dataclasses import dataclass

from planking import words
from planking.cuts import belts
from planking.habit import habit
from planking.hung_widths import HungWidth, hung_widths, zero_counts, zero_of
from planking.opening import Opening
from planking.plain_sum import correlated_doubt

GUARD = 1.645
EYE_MM, EYE_AT_ENDS_MM = 0.5, 0.3
CLOSING_SHARE = 0.10


@dataclass(frozen=True)
class SeamApart:
    """One seam that stands otherwise on the two sides: positive where port stands further from its line.

    `strake` is the one whose inner edge it is, `strakes` how many there are from the line to it.
    """

    station: str
    from_line: str
    strake: str
    strakes: int
    apart_mm: float
    u_mm: float
    forgiven_mm: float

    @property
    def is_seen(self) -> bool:
        """Return whether the eye surely sees it: |apart| - 1.645 u > what it forgives."""
        return abs(self.apart_mm) - GUARD * self.u_mm > self.forgiven_mm


@dataclass(frozen=True)
class CountApart:
    """A station where the sides have different numbers of strakes."""

    station: str
    port: int
    starboard: int


@dataclass(frozen=True)
class Sides:
    """What differs between the sides: the largest seam, counts, closing strakes, and the hands."""

    largest: SeamApart | None
    seen: bool
    counts: tuple[CountApart, ...]
    closing_apart: tuple[tuple[str, float], ...]
    hands_differ: bool
    hands_apart_mm: float
    sentence: str


def sides(port: Opening, starboard: Opening) -> Sides:
    """Return how the two sides differ, where it would meet the eye.

    Delta_j,s = sum over the first j strakes of (port - starboard), u^2 = readings' squares + sum over epochs
    of (n_P - n_S)^2 u_z^2 for a shared instrument epoch. The single largest seam is told, and only where
    |Delta| - 1.645 u passes 0.5 mm (0.3 at the first and last station). Significance without a size is never
    told: somewhere in a hull it is there nearly always. Lengths in mm.

    >>> from planking.opening import Station
    >>> one = Opening("port", (Station("D"),), ())
    >>> sides(one, one).sentence
    'Nothing to compare yet.'
    """
    seams = seams_apart(port, starboard)
    told = [one for one in seams if one.is_seen] or seams
    largest = max(told, key=lambda one: abs(one.apart_mm), default=None)
    counts = tuple(_counts(port, starboard))
    differ, apart = _hands(port, starboard)
    seen = largest is not None and largest.is_seen
    return Sides(
        largest=largest,
        seen=seen,
        counts=counts,
        closing_apart=tuple(_closing(port, starboard)),
        hands_differ=differ,
        hands_apart_mm=apart,
        sentence=_sentence(largest, counts, differ, apart),
    )


def seams_apart(port: Opening, starboard: Opening) -> list[SeamApart]:
    """Return how far every seam stands apart on the two sides, run by run, station by station, in mm.

    A run is followed from its line as far as the same strakes are hung and read on both sides.

    >>> from planking.opening import Station
    >>> seams_apart(Opening("port", (Station("D"),), ()), Opening("starboard", (Station("D"),), ()))
    []
    """
    return [seam for run in ("wale", "keel") for seam in _seams(port, starboard, run)]


def _seams(port: Opening, starboard: Opening, run: str) -> list[SeamApart]:
    names = [one.name for one in port.stations if one.name in {other.name for other in starboard.stations}]
    found = []
    for name in names:
        ends = name in (names[0], names[-1])
        pairs = _pairs(port, starboard, name, run)
        for count in range(1, len(pairs) + 1):
            apart, u = _apart(port, starboard, pairs[:count])
            forgiven = EYE_AT_ENDS_MM if ends else EYE_MM
            found.append(SeamApart(name, run, pairs[count - 1][0].strake, count, apart, u, forgiven))
    return found


def _pairs(port: Opening, starboard: Opening, station: str, run: str) -> list[tuple[HungWidth, HungWidth]]:
    """Return the widths of the same strakes on both sides, from the fixed line inward, as far as both are
    hung."""
    rows = []
    for side in (port, starboard):
        of_run = [one for one in hung_widths(side, station)[0] if side.strake_by_label[one.strake].run == run]
        rows.append(of_run[::-1] if run == "wale" else of_run)
    pairs = []
    for ours, theirs in zip(*rows, strict=False):
        if ours.strake != theirs.strake or not (ours.read_here and theirs.read_here):
            break
        pairs.append((ours, theirs))
    return pairs


def _apart(
    port: Opening, starboard: Opening, pairs: list[tuple[HungWidth, HungWidth]]
) -> tuple[float, float]:
    apart = sum(a.judged_by_mm + a.deviation_mm - b.judged_by_mm - b.deviation_mm for a, b in pairs)
    ours, theirs = zero_counts(a for a, _ in pairs), zero_counts(b for _, b in pairs)
    shared = []
    for epoch in {*ours, *theirs}:
        known = port if epoch in port.epoch_by_name else starboard
        shared.append((ours.get(epoch, 0) - theirs.get(epoch, 0)) * zero_of(known, epoch)[1])
    return apart, correlated_doubt([one.u_mm for pair in pairs for one in pair], shared)


def _counts(port: Opening, starboard: Opening) -> list[CountApart]:
    found = []
    for station in port.stations:
        if any(one.name == station.name for one in starboard.stations):
            here, there = len(port.strakes_at(station.name)), len(starboard.strakes_at(station.name))
            if here != there:
                found.append(CountApart(station.name, here, there))
    return found


def _closing(port: Opening, starboard: Opening) -> list[tuple[str, float]]:
    """Return the stations where the closing strakes differ by more than a tenth, and by how much."""
    found = []
    for strake in port.strakes:
        other = starboard.strake_by_label.get(strake.label)
        if strake.run != "closing" or other is None:
            continue
        for station in port.stations:
            ours = port.width_at.get((strake.label, station.name))
            theirs = starboard.width_at.get((strake.label, station.name))
            if ours and theirs and abs(ours.width_mm - theirs.width_mm) > CLOSING_SHARE * theirs.width_mm:
                found.append((station.name, ours.width_mm - theirs.width_mm))
    return found


def _hands(port: Opening, starboard: Opening) -> tuple[bool, float]:
    """Return whether the hands differ: the chart of habit on port less starboard, scatter times root two."""
    ours = {one.strake.label: one.mean_mm for belt in belts(port) for one in belt}
    theirs = {one.strake.label: one.mean_mm for belt in belts(starboard) for one in belt}
    both = [one.label for one in port.hung_in_order if one.label in ours and one.label in theirs]
    apart = [ours[label] - theirs[label] for label in both]
    if not apart:
        return False, 0.0
    scatter = max(port.cutting_scatter_mm, starboard.cutting_scatter_mm, 1e-3) * 2**0.5
    found = habit(apart, scatter_mm=scatter)
    return bool(found.alarms), found.bias_mm


def _sentence(largest: SeamApart | None, counts: tuple[CountApart, ...], differ: bool, apart: float) -> str:
    if largest is None and not counts:
        return "Nothing to compare yet."
    parts = []
    for one in counts[:1]:
        parts.append(
            f"At {words.station(one.station)} port has {one.port} strakes and starboard {one.starboard}."
        )
    if largest is not None:
        number = words.count(largest.strakes, "strake")
        place = f"{words.station(largest.station)}, {number} from the {largest.from_line}"
        by = words.mm(abs(largest.apart_mm))
        if largest.is_seen:
            side = "port" if largest.apart_mm > 0 else "starboard"
            parts.append(f"The seams differ by {by} at {place}: {side} stands further in.")
        else:
            parts.append(f"The seams agree to the eye; the largest difference is {by} at {place}.")
    if differ:
        side = "Port" if apart > 0 else "Starboard"
        parts.append(f"{side} is cut wider, about {words.mm(abs(apart))} a strake.")
    return " ".join(parts)
