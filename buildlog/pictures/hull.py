"""What the pictures of a hull are told: stations, sides, openings, strakes. Nothing here knows a database.

Stations run from aft to forward, strakes from the keel to the wale. Every word shown (figures, findings)
comes from the caller, who knows the builder's units.
"""

from dataclasses import dataclass, field

from .checks import finite, one_of, reach_or_none, rising, same_count

STATES = ("hung", "open", "next", "before_log")
SIDES = ("starboard", "port")
KINDS = ("full", "drop", "stealer")
TONES = ("wide", "narrow", "within", "open")
SOLID = ("hung", "before_log")


@dataclass(frozen=True, slots=True)
class HullStation:
    """A station; x_mm is its place along the hull, rising forward, or None where it is not known."""

    name: str
    x_mm: float | None = None
    is_dead_flat: bool = False

    def __post_init__(self):
        """Refuse a place that is not a number."""
        if self.x_mm is not None:
            finite(self.x_mm, f"The place of station {self.name}")


@dataclass(frozen=True, slots=True)
class HullStrake:
    """One strake, with one planned width a station: 0 where it does not reach, None where no plan says it.

    deviations_mm are the widths hung less the widths planned (None: not measured there); doubtful says which
    of those readings are in doubt; butts_mm and spans_mm are places along the hull.
    """

    label: str
    state: str = "open"
    widths_mm: tuple[float | None, ...] = ()
    deviations_mm: tuple[float | None, ...] = ()
    doubtful: tuple[bool, ...] = ()
    butts_mm: tuple[float, ...] = ()
    spans_mm: tuple[tuple[float, float], ...] = ()
    closing: bool = False
    kind: str = "full"

    def __post_init__(self):
        """Refuse what cannot be drawn, naming the strake."""
        one_of(self.state, STATES, f"The state of strake {self.label}")
        one_of(self.kind, KINDS, f"The kind of strake {self.label}")
        for width in self.widths_mm:
            reach_or_none(width, f"A width of strake {self.label}")
        for value in (*self.deviations_mm, *self.butts_mm):
            if value is not None:
                finite(value, f"A figure of strake {self.label}")
        for start, end in self.spans_mm:
            rising((finite(start, "A span"), finite(end, "A span")), f"A span of strake {self.label}")

    @property
    def is_solid(self):
        """Say whether the strake is on the hull."""
        return self.state in SOLID


@dataclass(frozen=True, slots=True)
class HullBelt:
    """Neighbouring strakes of an opening, first and last counted from the keel; the finding in words."""

    name: str
    first: int
    last: int
    finding: str = ""
    tone: str = "within"

    def __post_init__(self):
        """Refuse a belt that ends before it begins."""
        one_of(self.tone, TONES, "The tone of a belt")
        if not 0 <= self.first <= self.last:
            raise ValueError(f"The belt {self.name} ends before it begins.")


@dataclass(frozen=True, slots=True)
class HullGap:
    """What is between the free edges at a station: its figure, what it says in words, and whether it was read."""

    station: int
    figure: str
    words: str = ""
    is_worst: bool = False
    is_read: bool = True


@dataclass(frozen=True, slots=True)
class HullOpening:
    """All planking between two fixed lines; strakes from the keel side, gaps the most important first."""

    strakes: tuple[HullStrake, ...]
    belts: tuple[HullBelt, ...] = ()
    gaps: tuple[HullGap, ...] = ()

    def __post_init__(self):
        """Refuse a belt of strakes that are not there."""
        for belt in self.belts:
            if belt.last >= len(self.strakes):
                raise ValueError(f"The belt {belt.name} names a strake that is not there.")


@dataclass(frozen=True, slots=True)
class HullSide:
    """One side of the hull, its openings from the keel."""

    side: str
    openings: tuple[HullOpening, ...]

    def __post_init__(self):
        """Refuse a side that is neither port nor starboard."""
        one_of(self.side, SIDES, "The side")


@dataclass(frozen=True, slots=True)
class Hull:
    """One side or both; steps_mm are the three steps of the fills, off plan by so much or more."""

    stations: tuple[HullStation, ...]
    sides: tuple[HullSide, ...]
    steps_mm: tuple[float, float, float] = field(default=(0.03, 0.06, 0.09))

    def __post_init__(self):
        """Refuse rows that have not one value a station, and stations out of order."""
        count = len(self.stations)
        if not count or not self.sides:
            raise ValueError("A hull needs one station and one side at least.")
        if len({side.side for side in self.sides}) != len(self.sides):
            raise ValueError("A side is given twice.")
        rising((0.0, *(finite(step, "A step") for step in self.steps_mm)), "The steps of the fills")
        if self.is_placed:
            rising([station.x_mm for station in self.stations], "The places of the stations")
        for strake in self.strakes():
            for values in (strake.widths_mm, strake.deviations_mm, strake.doubtful):
                same_count(values, count, f"Strake {strake.label}")
        for gap in (gap for side in self.sides for opening in side.openings for gap in opening.gaps):
            if not 0 <= gap.station < count:
                raise ValueError(f"The gap {gap.figure} names a station that is not there.")

    @property
    def is_placed(self):
        """Say whether every station's place along the hull is known."""
        return all(station.x_mm is not None for station in self.stations)

    @property
    def is_measured(self):
        """Say whether any strake has a planned width, so that bands can be drawn to scale."""
        return any(width for strake in self.strakes() for width in strake.widths_mm)

    def strakes(self):
        """Return every strake of every side."""
        return [strake for side in self.sides for opening in side.openings for strake in opening.strakes]
