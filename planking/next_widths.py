"""The first answer: the gap divided by the strakes left, at each station; no plan or history needed."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from planking.errors import refusal
from planking.limits import WidthLimits, WidthWarning, counts_that_fit, warn_of_widths
from planking.rounding import round_run
from planking.shown_lengths import show_mm
from planking.units import Number, exact_mm

SHOWN_STEP = Fraction(1, 100)
"""Widths are read off calipers to 0.01 mm, so a sum in words tells what this step leaves."""

MOST_STRAKES = 500
"""No hull has so many on a side; a greater number is a slip."""


@dataclass(frozen=True)
class StationGap:
    """One station: the gap between the free edges, and how many strakes are still to fill it there.

    `given_widths_mm` are widths somebody means to cut (the plan's, or one's own), one a strake left; with
    them the answer says how far the gap is short or over. `shares` are the strakes' shares of the room, in
    order of hanging, where they are not to be equal.
    """

    name: str
    gap_mm: Number
    strakes_left: int
    given_widths_mm: tuple[Number, ...] = ()
    shares: tuple[Number, ...] = ()


@dataclass(frozen=True)
class StationWidths:
    """The answer at one station.

    `widths_mm` are exact and in order of hanging; with the seams they add up to the gap. `shown_mm` are the
    same to 0.01 mm by running remainder. `sum` is the division in real numbers. `over_mm` is the gap less the
    given widths and the seams (below zero: the gap is short by so much), None where no widths were given.
    """

    name: str
    gap_mm: Fraction
    strakes_left: int
    seams_mm: Fraction
    widths_mm: tuple[Fraction, ...]
    shown_mm: tuple[Fraction, ...]
    sum: str
    over_mm: Fraction | None
    over_sum: str
    warnings: tuple[WidthWarning, ...]

    @property
    def next_mm(self) -> Fraction:
        """Exact width of the strake to be hung next."""
        return self.widths_mm[0]


@dataclass(frozen=True)
class NextWidths:
    """The widths of the strakes left at every station, and the full width that the limits are shares of."""

    stations: tuple[StationWidths, ...]
    full_width_mm: Fraction
    narrowest_mm: Fraction
    widest_mm: Fraction

    @property
    def warnings(self) -> tuple[WidthWarning, ...]:
        return tuple(warning for station in self.stations for warning in station.warnings)


@dataclass(frozen=True)
class _Seams:
    each_mm: Fraction
    both_edges_tight: bool

    def number(self, strakes: int) -> int:
        return strakes + 1 if self.both_edges_tight else strakes


def next_widths(
    stations: Sequence[StationGap],
    *,
    seam_mm: Number = 0,
    both_edges_tight: bool = True,
    limits: WidthLimits | None = None,
) -> NextWidths:
    """Return the width of every strake left, at every station, from the gaps alone.

    With r strakes left and a seam g between planks, width = (gap - (r + 1) g) / r for equal shares: one seam
    more than strakes where both edges of the gap are fitted tight, as many as strakes where one edge stays
    open. With shares the room is divided in their proportion. Exact, in mm on the model. Derived here.

    >>> found = next_widths([StationGap("M", Fraction("22.16"), 5)])
    >>> found.stations[0].sum
    '22.16 / 5 = 4.43, 0.01 over'

    Raises PlankingError naming the station when a gap is not above its seams, a count is not a whole number
    above zero, or shares or given widths are not one a strake left.
    """
    _refuse_twins(stations)
    seams = _Seams(exact_mm(seam_mm, field="seam_mm"), both_edges_tight)
    if seams.each_mm < 0:
        raise refusal("seam_mm", "cannot be below zero")
    runs = [_divide(station, seams) for station in stations]
    given = limits or WidthLimits()
    widest = max(max(run) for run in runs)
    full_words = "the full width" if given.full_width_mm else "the widest,"
    known = given if given.full_width_mm else replace(given, full_width_mm=widest)
    answers = [
        _answer(station, run, seams, known, full_words) for station, run in zip(stations, runs, strict=True)
    ]
    return NextWidths(tuple(answers), known.full_mm, min(min(run) for run in runs), widest)


def _refuse_twins(stations: Sequence[StationGap]) -> None:
    if not stations:
        raise refusal("stations", "there must be at least one")
    names = [station.name for station in stations]
    for name in names:
        if names.count(name) > 1:
            raise refusal("stations", f"{name} is given twice")


def _divide(station: StationGap, seams: _Seams) -> tuple[Fraction, ...]:
    """The exact widths at one station; what is out of reason is refused by the station's name."""
    count, field = station.strakes_left, f"gap at {station.name}"
    if isinstance(count, bool) or not isinstance(count, int) or not 1 <= count <= MOST_STRAKES:
        raise refusal(f"strakes left at {station.name}", f"must be a whole number from 1 to {MOST_STRAKES}")
    gap = exact_mm(station.gap_mm, field=field)
    taken = seams.number(count) * seams.each_mm
    if gap <= 0:
        raise refusal(field, "must be more than nothing")
    if gap <= taken:
        raise refusal(field, f"is {show_mm(gap)}, and its seams alone take {show_mm(taken)}")
    shares = _one_a_strake(station, station.shares, "shares") or (Fraction(1),) * count
    return tuple((gap - taken) * share / sum(shares) for share in shares)


def _one_a_strake(station: StationGap, values: Sequence[Number], what: str) -> tuple[Fraction, ...]:
    field = f"{what} at {station.name}"
    exact = tuple(exact_mm(value, field=field) for value in values)
    if exact and len(exact) != station.strakes_left:
        raise refusal(
            field, f"must be {station.strakes_left}, one for each strake left; {len(exact)} are given"
        )
    if any(value <= 0 for value in exact):
        raise refusal(field, "must all be more than nothing")
    return exact


def _answer(
    station: StationGap, run: tuple[Fraction, ...], seams: _Seams, limits: WidthLimits, full_words: str
) -> StationWidths:
    gap = exact_mm(station.gap_mm)
    given = _one_a_strake(station, station.given_widths_mm, "given widths")
    taken = seams.number(len(run)) * seams.each_mm
    fit = counts_that_fit(gap, limits, seam_mm=seams.each_mm, both_edges_tight=seams.both_edges_tight)
    return StationWidths(
        name=station.name,
        gap_mm=gap,
        strakes_left=station.strakes_left,
        seams_mm=taken,
        widths_mm=run,
        shown_mm=round_run(run, SHOWN_STEP).widths_mm,
        sum=_division_in_words(station, run, seams),
        over_mm=gap - sum(given) - taken if given else None,
        over_sum=_over_in_words(gap, given, taken) if given else "",
        warnings=warn_of_widths(station.name, run, limits, fit, full_words),
    )


def _division_in_words(station: StationGap, run: tuple[Fraction, ...], seams: _Seams) -> str:
    """The division with the figures as shown, and what their rounding leaves over or short."""
    gap, number = exact_mm(station.gap_mm), seams.number(len(run))
    words = show_mm(gap)
    if seams.each_mm:
        words = f"({words} − {number} × {_seam_in_words(seams.each_mm)})"
    if station.shares:
        whole = sum(exact_mm(share) for share in station.shares)
        return (
            f"{words} × {_plain(exact_mm(station.shares[0]))} / {_plain(Fraction(whole))} = {show_mm(run[0])}"
        )
    width = _shown(run[0])
    left = _shown(gap) - number * Fraction(_seam_in_words(seams.each_mm)) - len(run) * width
    return f"{words} / {len(run)} = {show_mm(width)}{_left_in_words(left)}"


def _left_in_words(left: Fraction) -> str:
    return f", {show_mm(abs(left))} {'over' if left > 0 else 'short'}" if _shown(left) else ""


def _over_in_words(gap: Fraction, given: tuple[Fraction, ...], taken: Fraction) -> str:
    """The given widths against the gap, rounded by running remainder so that the parts add up as shown."""
    parts = round_run([*given, taken], SHOWN_STEP)
    shown = parts.widths_mm[:-1]
    if len(set(shown)) == 1 and len(shown) > 1:
        words = f"{len(shown)} × {show_mm(shown[0])}"
    elif len(shown) <= 8:
        words = " + ".join(show_mm(width) for width in shown)
    else:
        words = f"{len(shown)} widths"
    seams = f" + seams {show_mm(parts.widths_mm[-1])}" if taken else ""
    left = _shown(gap) - parts.marks_mm[-1]
    verdict = _left_in_words(left) or ", as it should be"
    return f"{words}{seams} = {show_mm(parts.marks_mm[-1])}, gap {show_mm(gap)}{verdict}"


def _seam_in_words(seam: Fraction) -> str:
    """A seam is so thin and comes so often that it is told to four places where two would not hold it."""
    return next(
        (show_mm(seam, places) for places in (2, 3) if round(seam * 10**places) == seam * 10**places), ""
    ) or (show_mm(seam, 4))


def _shown(value: Fraction) -> Fraction:
    return round(value / SHOWN_STEP) * SHOWN_STEP


def _plain(value: Fraction) -> str:
    return f"{float(value):.4g}"
