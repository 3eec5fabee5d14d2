"""Gaps and strakes left -> the width of the next strakes at every station, short or over, warnings."""

from dataclasses import dataclass
from fractions import Fraction

from planking.errors import refusal
from planking.lengths import Scale
from planking.limits import WidthLimits
from planking.next_widths import StationGap, StationWidths, next_widths

ASKED_FOR = "the gap divided by the strakes left, at each station"
EXAMPLE = {
    "stations": [
        {"name": "FH", "gap_mm": 10.05, "strakes_left": 4},
        {"name": "M", "gap_mm": "19,18"},
        {"name": "DF", "gap_mm": "22.16 mm", "given_widths_mm": [4.5, 4.5, 4.5, 4.5, 4.5]},
    ],
    "strakes_left": 5,
    "seam_mm": 0.014,
    "stock_width_mm": 6,
}


@dataclass(frozen=True)
class StationAsked:
    """A station: its gap, strakes left where the number differs there, widths meant to be cut, shares."""

    name: str
    gap_mm: Fraction
    strakes_left: int | None = None
    given_widths_mm: tuple[Fraction, ...] = ()
    shares: tuple[Fraction, ...] = ()


@dataclass(frozen=True)
class Asked:
    """Gaps at the stations, forward first, and the strakes left to fill them.

    Limits are shares of the full width (the widest found, where it is not given) and the width of the stock.
    """

    stations: tuple[StationAsked, ...]
    strakes_left: int | None = None
    seam_mm: Fraction = Fraction(0)
    both_edges_tight: bool = True
    full_width_mm: Fraction | None = None
    narrowest_share: Fraction = Fraction(1, 2)
    widest_share: Fraction = Fraction(3, 2)
    stock_width_mm: Fraction | None = None
    scale: Scale | None = None


@dataclass(frozen=True)
class WarningTold:
    """A rule broken: the width, its limit, the sentence, and the fewest and most strakes that would do."""

    rule: str
    strake: int
    width_mm: Fraction
    limit_mm: Fraction
    sentence: str
    fewest_strakes: int
    most_strakes: int


@dataclass(frozen=True)
class StationTold:
    """The widths at one station in order of hanging, exact and to 0.01 mm, with the sum in real numbers.

    `over_mm` is the gap less the given widths and seams (below zero: short), null where none were given.
    """

    name: str
    gap_mm: Fraction
    strakes_left: int
    seams_mm: Fraction
    next_width_mm: Fraction
    widths_mm: tuple[Fraction, ...]
    shown_mm: tuple[Fraction, ...]
    sum: str
    over_mm: Fraction | None
    over_sum: str
    warnings: tuple[WarningTold, ...]


@dataclass(frozen=True)
class Answered:
    """The answer at each station, and the full width that the limits were taken from."""

    stations: tuple[StationTold, ...]
    full_width_mm: Fraction
    narrowest_mm: Fraction
    widest_mm: Fraction


def answer(asked: Asked) -> Answered:
    """Return the widths of the strakes left at every station."""
    limits = WidthLimits(
        full_width_mm=asked.full_width_mm,
        narrowest_share=asked.narrowest_share,
        widest_share=asked.widest_share,
        stock_width_mm=asked.stock_width_mm,
    )
    found = next_widths(
        [_gap(asked, number) for number in range(len(asked.stations))],
        seam_mm=asked.seam_mm,
        both_edges_tight=asked.both_edges_tight,
        limits=limits,
    )
    stations = tuple(_told(station) for station in found.stations)
    return Answered(stations, found.full_width_mm, found.narrowest_mm, found.widest_mm)


def _gap(asked: Asked, number: int) -> StationGap:
    station = asked.stations[number]
    left = asked.strakes_left if station.strakes_left is None else station.strakes_left
    if left is None:
        raise refusal(f"stations[{number}].strakes_left", "is missing, and so is strakes_left for all")
    return StationGap(station.name, station.gap_mm, left, station.given_widths_mm, station.shares)


def _told(station: StationWidths) -> StationTold:
    return StationTold(
        name=station.name,
        gap_mm=station.gap_mm,
        strakes_left=station.strakes_left,
        seams_mm=station.seams_mm,
        next_width_mm=station.next_mm,
        widths_mm=station.widths_mm,
        shown_mm=station.shown_mm,
        sum=station.sum,
        over_mm=station.over_mm,
        over_sum=station.over_sum,
        warnings=tuple(
            WarningTold(
                rule=one.rule,
                strake=one.strake,
                width_mm=one.width_mm,
                limit_mm=one.limit_mm,
                sentence=one.sentence,
                fewest_strakes=one.counts.fewest,
                most_strakes=one.counts.most,
            )
            for one in station.warnings
        ),
    )
