"""The facts every other file reads: one opening, its stations, strakes and readings, checked when made.

An opening is all planking of one layer and one side between two fixed lines. Lengths are millimetres on the
model. Strakes stand from the keel side to the wale side, stations from forward to aft. Only readings that
count are given.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields, replace
from functools import cached_property
from itertools import pairwise
from types import MappingProxyType
from typing import Literal

from planking.checks import LONGEST_MM, check_finite, check_length
from planking.errors import PlankingError

Run = Literal["wale", "keel", "closing"]
State = Literal["open", "cut", "hung", "before_log"]


@dataclass(frozen=True)
class Station:
    """A place along the hull where readings are taken; `x_mm` is its distance along the hull, where known."""

    name: str
    x_mm: float | None = None

    def __post_init__(self) -> None:
        if not self.name:
            raise PlankingError("station", "A station needs a name.")
        check_finite("x_mm", self.x_mm, f"the place of station {self.name}")


@dataclass(frozen=True)
class Epoch:
    """One instrument between two events that may move its zero; readings less `zero_offset_mm` are true.

    `ended` says that the instrument was set anew since: its zero of then cannot be looked at any more.
    """

    name: str
    instrument: str
    u_reading_mm: float
    u_zero_mm: float
    zero_offset_mm: float = 0.0
    in_doubt: bool = False
    ended: bool = False

    def __post_init__(self) -> None:
        for key in ("u_reading_mm", "u_zero_mm"):
            check_length(key, getattr(self, key), f"the doubt of {self.instrument}")
        check_finite("zero_offset_mm", self.zero_offset_mm, f"the zero of {self.instrument}")


@dataclass(frozen=True)
class Strake:
    """One line of planks: what is planned now, what it was cut to, and where it stands.

    `planned_mm` holds the widths in force a station; a station that is not in it is one the strake does not
    reach. `cut_to_mm` holds the widths of the revision it was cut to, against which its drift is judged;
    `aim_mm` the widths set at the saw, that is the width in force less the habit taken off. Both fall back
    on `planned_mm`.
    """

    label: str
    run: Run
    planned_mm: Mapping[str, float]
    belt: str | None = None
    cut_to_mm: Mapping[str, float] | None = None
    aim_mm: Mapping[str, float] | None = None
    state: State = "open"
    hung_order: int | None = None

    def __post_init__(self) -> None:
        if not self.label:
            raise PlankingError("strake", "A strake needs a label.")
        for key in ("run", "state"):
            allowed = {"run": ("wale", "keel", "closing"), "state": ("open", "cut", "hung", "before_log")}[
                key
            ]
            if getattr(self, key) not in allowed:
                raise PlankingError(key, f"The {key} of strake {self.label} is one of {', '.join(allowed)}.")
        for key in ("planned_mm", "cut_to_mm", "aim_mm"):
            widths = getattr(self, key)
            for station, width in (widths or {}).items():
                if not 0.0 <= width <= LONGEST_MM:
                    check_length(key, width, f"the width of strake {self.label} at {station}")
            if widths is not None:
                object.__setattr__(self, key, MappingProxyType(dict(widths)))

    @property
    def is_hung(self) -> bool:
        """Return whether the strake is on the hull, hung before this log or in it."""
        return self.state in ("hung", "before_log")

    def judged_by_mm(self, station: str) -> float | None:
        """Return the width the strake is judged by at a station: the revision cut to, else the plan in
        force."""
        if self.cut_to_mm is not None and station in self.cut_to_mm:
            return self.cut_to_mm[station]
        return self.planned_mm.get(station)

    def aimed_at_mm(self, station: str) -> float | None:
        """Return the width set at the saw at a station: the aim where one was kept, else the width judged
        by."""
        if self.aim_mm is not None and station in self.aim_mm:
            return self.aim_mm[station]
        return self.judged_by_mm(station)


@dataclass(frozen=True)
class WidthReading:
    """A strake's width as read at a station; its zero is that of its epoch. `u_mm` None: the instrument's
    own."""

    strake: str
    station: str
    width_mm: float
    epoch: str
    u_mm: float | None = None


@dataclass(frozen=True)
class GapReading:
    """The gap at a station as read when the strakes in `hung` were on; `epoch` only where its zero is in
    doubt."""

    station: str
    gap_mm: float
    hung: frozenset[str]
    u_mm: float
    epoch: str | None = None


@dataclass(frozen=True)
class EdgeReading:
    """The way from a fixed line to the far edge of a hung strake, along the girth."""

    from_line: Literal["keel", "wale"]
    strake: str
    station: str
    distance_mm: float
    u_mm: float
    epoch: str | None = None


@dataclass(frozen=True)
class GirthReading:
    """The girth of the opening at a station, between its two fixed lines, as read on the bare hull."""

    station: str
    girth_mm: float
    u_mm: float


@dataclass(frozen=True)
class ZeroCheck:
    """What an instrument read that should have read nought, or too much on a block."""

    epoch: str
    offset_mm: float
    u_mm: float


@dataclass(frozen=True)
class Limits:
    """What the eye forgives and the wood allows, as shares of the planned width."""

    step_share: float = 0.04
    closing_share: float = 0.10
    narrowest_share: float = 0.5
    widest_share: float = 1.5
    stock_width_mm: float | None = None

    def __post_init__(self) -> None:
        for key in ("step_share", "closing_share", "narrowest_share", "widest_share"):
            value = getattr(self, key)
            if not math.isfinite(value) or not 0 < value <= 10:
                raise PlankingError(key, "A limit is a share of the planned width, more than nought.")
        if self.narrowest_share > 1 or self.widest_share < 1:
            raise PlankingError("narrowest_share", "The planned width itself lies outside these limits.")
        if self.stock_width_mm is not None:
            check_length("stock_width_mm", self.stock_width_mm, "the width of the stock", above_nought=True)

    def widths_mm(self, planned_mm: float) -> tuple[float, float]:
        """Return the narrowest and widest a strake may be cut, by its planned width and the stock at hand.

        >>> Limits(stock_width_mm=6.0).widths_mm(5.0)
        (2.5, 6.0)
        """
        highest = self.widest_share * planned_mm
        if self.stock_width_mm is not None:
            highest = min(highest, self.stock_width_mm)
        return self.narrowest_share * planned_mm, highest


@dataclass(frozen=True)
class Opening:
    """Everything known of one opening on one day; every other file of this package reads it and changes
    nothing."""

    side: str
    stations: tuple[Station, ...]
    strakes: tuple[Strake, ...]
    girth_planned_mm: Mapping[str, float] | None = None
    planned_seam_mm: float = 0.0
    seam_mm: float = 0.03
    u_seam_mm: float = 0.03
    seam_scatter_mm: float = 0.01
    widths: tuple[WidthReading, ...] = ()
    gaps: tuple[GapReading, ...] = ()
    edges: tuple[EdgeReading, ...] = ()
    girths: tuple[GirthReading, ...] = ()
    zero_checks: tuple[ZeroCheck, ...] = ()
    epochs: tuple[Epoch, ...] = ()
    limits: Limits = field(default_factory=Limits)
    keel_line_tight: bool = True
    wale_line_tight: bool = True
    cutting_scatter_mm: float = 0.06
    dead_flat: str | None = None

    def __post_init__(self) -> None:
        for one in fields(self):
            if one.name in LISTS:
                object.__setattr__(self, one.name, tuple(getattr(self, one.name)))
        if self.girth_planned_mm is not None:
            object.__setattr__(self, "girth_planned_mm", MappingProxyType(dict(self.girth_planned_mm)))
        # The checks read the facts defined here, so they come in when the first opening is made.
        from planking.opening_checks import check_opening

        check_opening(self)

    @cached_property
    def strake_by_label(self) -> Mapping[str, Strake]:
        """Return the strakes by their labels."""
        return {strake.label: strake for strake in self.strakes}

    @cached_property
    def epoch_by_name(self) -> Mapping[str, Epoch]:
        """Return the instrument epochs by their names."""
        return {epoch.name: epoch for epoch in self.epochs}

    @cached_property
    def width_at(self) -> Mapping[tuple[str, str], WidthReading]:
        """Return the width readings by strake and station."""
        return {(width.strake, width.station): width for width in self.widths}

    @cached_property
    def girth_at(self) -> Mapping[str, GirthReading]:
        """Return the girth readings by station."""
        return {girth.station: girth for girth in self.girths}

    @cached_property
    def places_mm(self) -> tuple[float, ...]:
        """Return the places of the stations along the hull; where any is unknown, their order stands for
        them."""
        given = [station.x_mm for station in self.stations]
        if any(place is None for place in given):
            return tuple(float(index) for index in range(len(given)))
        return tuple(float(place) for place in given if place is not None)

    @cached_property
    def hung_in_order(self) -> tuple[Strake, ...]:
        """Return the strakes on the hull in the order of hanging; those hung before this log come first."""
        hung = [strake for strake in self.strakes if strake.is_hung]
        return tuple(sorted(hung, key=self._place_in_order))

    def _place_in_order(self, strake: Strake) -> tuple[bool, int]:
        order = len(self.strakes) if strake.hung_order is None else strake.hung_order
        return strake.state == "hung", order

    def strakes_at(self, station: str) -> tuple[Strake, ...]:
        """Return the strakes that reach a station, keel side first."""
        return tuple(
            strake for strake in self.strakes if station in strake.planned_mm or self._is_behind(strake)
        )

    def gaps_at(self, station: str) -> tuple[GapReading, ...]:
        """Return the gap readings of a station in the order they were given, the latest last.

        One read over a plank that has been taken off since says nothing of the gap now, and is left out.
        """
        return self._gaps_by_station.get(station, ())

    @cached_property
    def _gaps_by_station(self) -> Mapping[str, tuple[GapReading, ...]]:
        hung = {strake.label for strake in self.strakes if strake.is_hung}
        # What was hung before this log was on the hull at every reading in it, named there or not.
        before = frozenset(strake.label for strake in self.strakes if strake.state == "before_log")
        found: dict[str, list[GapReading]] = {}
        for gap in self.gaps:
            if gap.hung <= hung:
                whole = replace(gap, hung=gap.hung | before) if before else gap
                found.setdefault(gap.station, []).append(whole)
        return {name: tuple(gaps) for name, gaps in found.items()}

    def seams_hung(self, station: str, hung: Iterable[str] | None = None) -> int:
        """Return how many seams the hung strakes have closed at a station; a fixed line fitted tight is
        one."""
        labels = set(hung) if hung is not None else {one.label for one in self.strakes if one.is_hung}
        here = self.strakes_at(station)
        on = [strake.label in labels for strake in here]
        if on and all(on):
            return self.seams_in_all(station)
        tight = sum(a and b for a, b in pairwise(on))
        return (
            tight + bool(on and on[0] and self.keel_line_tight) + bool(on and on[-1] and self.wale_line_tight)
        )

    def seams_in_all(self, station: str) -> int:
        """Return how many seams a station has when the opening is closed: n + 1 with both lines tight."""
        number = len(self.strakes_at(station))
        return max(0, number - 1 + self.keel_line_tight + self.wale_line_tight) if number else 0

    def _is_behind(self, strake: Strake) -> bool:
        # A strake hung before this log may have no planned width; it is on the hull and its seam with it.
        return strake.state == "before_log" and not strake.planned_mm


LISTS = {"stations", "strakes", "widths", "gaps", "edges", "girths", "zero_checks", "epochs"}
