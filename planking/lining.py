"""Lining off, first part: how many strakes a girth takes, where they are too narrow or wide, the division.

The counts along the hull and the fair run of a dropped strake are found elsewhere; here the builder says
which strakes are present at each station, and the tool divides and checks.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from planking.errors import refusal
from planking.limits import CountRange, WidthLimits, counts_that_fit
from planking.rounding import from_nm, split_nm, to_nm
from planking.scales import Scale
from planking.shown_lengths import show_full_size, show_mm
from planking.units import Number, exact_mm

Verdict = Literal["fits", "too narrow", "too wide"]


@dataclass(frozen=True)
class StationCount:
    """Whether a number of strakes suits a girth, and how many must drop or how many stealers must come in."""

    name: str
    girth_mm: Fraction
    strakes: int
    width_mm: Fraction
    counts: CountRange
    verdict: Verdict
    drop_strakes: int
    stealers: int
    sentence: str


def judge_count(
    name: str,
    girth_mm: Number,
    strakes: int,
    limits: WidthLimits,
    *,
    seam_mm: Number = 0,
    both_edges_tight: bool = True,
) -> StationCount:
    """Return whether so many strakes of equal width suit a girth; if not, how many drop or how many stealers.

    Too narrow: width under the narrowest share of the full width, and at most floor(girth / narrowest)
    strakes may reach the station; the rest drop. Too wide: over the widest share or the stock, and at least
    ceil(girth / widest) are needed; what is missing are stealers. Half and one and a half are common
    practice, no source.

    >>> judge_count("the stem", 46, 20, WidthLimits(full_width_mm=5)).sentence
    'At the stem 46.00 / 20 = 2.30, under 2.50: too narrow. At most 18 may reach it, so 2 drop.'

    Raises PlankingError when the girth or the count is not above zero, or the limits have no full width.
    """
    if isinstance(strakes, bool) or not isinstance(strakes, int) or strakes < 1:
        raise refusal(f"strakes at {name}", "must be a whole number of 1 or more")
    girth, seam = exact_mm(girth_mm, field=f"girth at {name}"), exact_mm(seam_mm, field="seam_mm")
    if girth <= 0:
        raise refusal(f"girth at {name}", "must be more than nothing")
    fit = counts_that_fit(girth, limits, seam_mm=seam, both_edges_tight=both_edges_tight)
    taken = (strakes + 1 if both_edges_tight else strakes) * seam
    if girth <= taken:
        raise refusal(f"girth at {name}", f"is {show_mm(girth)}, and its seams alone take {show_mm(taken)}")
    width = (girth - taken) / strakes
    room = f"({show_mm(girth)} − {show_mm(taken)})" if taken else show_mm(girth)
    verdict, limit = _verdict(width, limits)
    drop = strakes - fit.most if verdict == "too narrow" and not fit.is_empty else 0
    stealers = fit.fewest - strakes if verdict == "too wide" and not fit.is_empty else 0
    said = _what_to_do(verdict, limit, fit, drop or stealers)
    sentence = f"At {name} {room} / {strakes} = {show_mm(width)}, {said}"
    return StationCount(name, girth, strakes, width, fit, verdict, drop, stealers, sentence)


def _verdict(width: Fraction, limits: WidthLimits) -> tuple[Verdict, Fraction]:
    """The verdict on one width, and the limit it was held against."""
    high = limits.widest_mm if limits.stock_mm is None else min(limits.widest_mm, limits.stock_mm)
    if width < limits.narrowest_mm:
        return "too narrow", limits.narrowest_mm
    return ("too wide", high) if width > high else ("fits", high)


def _what_to_do(verdict: Verdict, limit: Fraction, fit: CountRange, number: int) -> str:
    if verdict == "fits":
        return "within the limits."
    start = f"{'under' if verdict == 'too narrow' else 'over'} {show_mm(limit)}: {verdict}."
    if fit.is_empty:
        return f"{start} No number of strakes keeps within the limits."
    if verdict == "too narrow":
        return f"{start} At most {fit.most} may reach it, so {number} drop{'s' if number == 1 else ''}."
    stealers = "1 stealer" if number == 1 else f"{number} stealers"
    return f"{start} At least {fit.fewest} are needed, so {stealers} must come in."


@dataclass(frozen=True)
class LinedStation:
    """A station to be divided: its girth between the fixed lines, and the strakes present, in order across.

    `strakes` are labels in the order they lie; a strake that drops short is simply not named where it has
    ended. `given_mm` are widths set beforehand (the garboard first, as a rule), taken off before the rest is
    divided.
    """

    name: str
    girth_mm: Number
    strakes: tuple[str, ...]
    given_mm: Mapping[str, Number] = field(default_factory=dict)


@dataclass(frozen=True)
class DividedStation:
    """The planned widths at one station in whole nanometres: widths and seams add up to the girth exactly."""

    name: str
    girth_nm: int
    seams_nm: int
    given_nm: int
    widths_nm: dict[str, int]
    divided_among: int
    sum: str

    def width_mm(self, strake: str) -> Fraction:
        return from_nm(self.widths_nm[strake])


def divide_opening(
    stations: Sequence[LinedStation],
    *,
    shares: Mapping[str, Number] | None = None,
    seam_mm: Number = 0,
    both_edges_tight: bool = True,
) -> tuple[DividedStation, ...]:
    """Return the planned width of every strake at every station where it is present, by division.

    At a station with girth G, n strakes, seam g and given widths that add up to a, each strake without a
    given width takes its share of G - (n + 1) g - a; `shares` by strake, 1 where not named. Laid down by
    running remainder in whole nanometres, so widths, given widths and seams add up to the girth with nothing
    left. Derived here.

    >>> station = LinedStation("DF", Fraction("20.35"), ("1", "2", "3", "4"), {"1": Fraction("6.1")})
    >>> divide_opening([station])[0].widths_nm
    {'1': 6100000, '2': 4750000, '3': 4750000, '4': 4750000}

    Raises PlankingError naming the station when a strake is named twice, a given width belongs to a strake
    not present, nothing is left to divide, or something is left and no strake to take it.
    """
    if not stations:
        raise refusal("stations", "there must be at least one")
    seam = to_nm(exact_mm(seam_mm, field="seam_mm"))
    if seam < 0:
        raise refusal("seam_mm", "cannot be below zero")
    weights = {
        label: exact_mm(share, field=f"share of strake {label}") for label, share in (shares or {}).items()
    }
    return tuple(_divide(station, weights, seam, both_edges_tight) for station in stations)


def _divide(
    station: LinedStation, weights: Mapping[str, Fraction], seam_nm: int, both_edges_tight: bool
) -> DividedStation:
    at, labels = f"at {station.name}", station.strakes
    if not labels:
        raise refusal(f"strakes {at}", "there must be at least one")
    if len(set(labels)) != len(labels):
        raise refusal(f"strakes {at}", "one is named twice")
    for label in station.given_mm:
        if label not in labels:
            raise refusal(f"given widths {at}", f"strake {label} is not present there")
    girth = to_nm(exact_mm(station.girth_mm, field=f"girth {at}"))
    given = {label: _given(station, label) for label in labels if label in station.given_mm}
    seams = seam_nm * (len(labels) + 1 if both_edges_tight else len(labels))
    rest = girth - seams - sum(given.values())
    free = [label for label in labels if label not in given]
    if rest <= 0 if free else rest != 0:
        raise refusal(f"girth {at}", _no_division(girth, seams, sum(given.values())))
    parts = split_nm(from_nm(rest), [weights.get(label, Fraction(1)) for label in free]) if free else ()
    found = given | dict(zip(free, parts, strict=True))
    widths = {label: found[label] for label in labels}
    words = _sum_in_words(girth, seams, sum(given.values()), [found[label] for label in free])
    return DividedStation(station.name, girth, seams, sum(given.values()), widths, len(free), words)


def _given(station: LinedStation, label: str) -> int:
    name = f"given width of strake {label} at {station.name}"
    width = exact_mm(station.given_mm[label], field=name)
    if width <= 0:
        raise refusal(name, "must be more than nothing")
    return to_nm(width)


def _no_division(girth: int, seams: int, given: int) -> str:
    taken = f"{_mm(given)} of given widths" + (f" and {_mm(seams)} of seams" if seams else "")
    return f"is {_mm(girth)}, against {taken}; nothing is left to divide as asked"


def _sum_in_words(girth: int, seams: int, given: int, free: Sequence[int]) -> str:
    words = (
        _mm(girth) + (f" − seams {_mm(seams)}" if seams else "") + (f" − given {_mm(given)}" if given else "")
    )
    rest = _mm(girth - seams - given)
    if not free:
        return f"{words} = {rest}"
    start = f"{words} = {rest}; {rest}" if seams or given else words
    if max(free) - min(free) > 1:
        return f"{start} by shares: {', '.join(_mm(width) for width in free)}"
    return f"{start} / {len(free)} = {_mm(free[0])}"


def _mm(nm: int) -> str:
    return show_mm(from_nm(nm))


def sum_at_full_size(station: DividedStation, scale: Scale, step: Fraction = Fraction(1, 16)) -> str:
    """Return the division in full-size inches: "38 1/2 − 11 1/2 = 27; 27 / 3 = 9".

    A quotient that `step` cannot hold is marked: "20 / 6 = roughly 3 1/4" to the quarter. Equal shares only.

    >>> inch = Fraction("25.4") / 48
    >>> girth, garboard = Fraction("38.5") * inch, Fraction("11.5") * inch
    >>> lined = LinedStation("DF", girth, ("1", "2", "3", "4"), {"1": garboard})
    >>> sum_at_full_size(divide_opening([lined])[0], Scale(1, 48))
    '38 1/2 − 11 1/2 = 27; 27 / 3 = 9'
    """
    if not station.divided_among:
        raise refusal(f"strakes at {station.name}", "all have given widths, so nothing is divided")

    def inches(mm: Fraction) -> str:
        # Whole nanometres are a little off an exact fraction; a thousandth of a step is no true remainder.
        shown = show_full_size(mm, scale, step)
        is_told = abs(shown.remainder_mm) <= scale.to_model_mm(step * Fraction("25.4")) / 1000
        return ("" if is_told else "roughly ") + shown.text.removesuffix(" in")

    girth, taken = from_nm(station.girth_nm), from_nm(station.seams_nm + station.given_nm)
    rest = girth - taken
    words = f"{inches(girth)} − {inches(taken)} = {inches(rest)}; {inches(rest)}" if taken else inches(girth)
    return f"{words} / {station.divided_among} = {inches(rest / station.divided_among)}"


@dataclass(frozen=True)
class CountChange:
    """A strake that ends or begins between two neighbouring stations, seen from the widest outwards."""

    strake: str
    kind: Literal["drop strake", "stealer"]
    nearer: str
    farther: str


def count_changes(stations: Sequence[LinedStation]) -> tuple[CountChange, ...]:
    """Return where strakes drop out and where stealers come in, going from the widest station to either end.

    The widest station is the first of the largest girth. A strake present nearer and not farther is a drop
    strake there; one present farther and not nearer is a stealer.

    >>> hull = [LinedStation("FH", 10, ("1", "2")), LinedStation("DF", 20, ("1", "2", "3"))]
    >>> [(change.strake, change.kind, change.farther) for change in count_changes(hull)]
    [('3', 'drop strake', 'FH')]
    """
    if not stations:
        return ()
    girths = [exact_mm(station.girth_mm, field=f"girth at {station.name}") for station in stations]
    middle = girths.index(max(girths))
    pairs = [(stations[i + 1], stations[i]) for i in reversed(range(middle))]
    pairs += [(stations[i], stations[i + 1]) for i in range(middle, len(stations) - 1)]
    found: list[CountChange] = []
    for near, far in pairs:
        found += [
            CountChange(s, "drop strake", near.name, far.name) for s in near.strakes if s not in far.strakes
        ]
        found += [
            CountChange(s, "stealer", near.name, far.name) for s in far.strakes if s not in near.strakes
        ]
    return tuple(found)
