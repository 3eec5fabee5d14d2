"""How narrow and how wide a strake may be, and how many strakes would do.

Rules of thumb: under half the full width a strake is dropped, over one and a half a stealer comes in (common
practice, no source). Both shares are settings.
"""

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from planking.errors import refusal
from planking.shown_lengths import show_mm
from planking.units import Number, exact_mm

Rule = Literal["wider than the stock", "under the narrowest share", "over the widest share"]


@dataclass(frozen=True)
class WidthLimits:
    """What a width may be: shares of the full width, and no wider than the stock.

    Where `full_width_mm` is not given, the widest of the widths at hand stands for it.

    >>> limits = WidthLimits(full_width_mm=5)
    >>> limits.narrowest_mm, limits.widest_mm
    (Fraction(5, 2), Fraction(15, 2))
    """

    full_width_mm: Number | None = None
    narrowest_share: Number = Fraction(1, 2)
    widest_share: Number = Fraction(3, 2)
    stock_width_mm: Number | None = None

    def __post_init__(self) -> None:
        for name in ("full_width_mm", "stock_width_mm"):
            value = getattr(self, name)
            if value is not None and exact_mm(value, field=name) <= 0:
                raise refusal(name, "must be more than nothing")
        low, high = (
            exact_mm(getattr(self, name), field=name) for name in ("narrowest_share", "widest_share")
        )
        if not 0 < low <= 1:
            raise refusal("narrowest_share", "must be more than 0 and not over 1")
        if not 1 <= high <= 100:
            raise refusal("widest_share", "must lie between 1 and 100")

    @property
    def full_mm(self) -> Fraction:
        if self.full_width_mm is None:
            raise refusal("full_width_mm", "is needed for the limits")
        return exact_mm(self.full_width_mm)

    @property
    def narrowest_mm(self) -> Fraction:
        return exact_mm(self.narrowest_share) * self.full_mm

    @property
    def widest_mm(self) -> Fraction:
        return exact_mm(self.widest_share) * self.full_mm

    @property
    def stock_mm(self) -> Fraction | None:
        return None if self.stock_width_mm is None else exact_mm(self.stock_width_mm)


@dataclass(frozen=True)
class CountRange:
    """The numbers of strakes that keep within the limits; none at all where `fewest` is above `most`."""

    fewest: int
    most: int

    @property
    def is_empty(self) -> bool:
        return self.fewest > self.most

    @property
    def words(self) -> str:
        """`4 to 6 strakes would do`, `5 strakes would do`, `no number of strakes would do`."""
        if self.is_empty:
            return "no number of strakes would do"
        numbers = str(self.most) if self.fewest == self.most else f"{self.fewest} to {self.most}"
        return f"{numbers} {'strake' if self.most == 1 else 'strakes'} would do"


@dataclass(frozen=True)
class WidthWarning:
    """A width that breaks a rule, with the strake it speaks of, counted from 0 in order of hanging."""

    rule: Rule
    strake: int
    width_mm: Fraction
    limit_mm: Fraction
    sentence: str
    counts: CountRange


def counts_that_fit(
    girth_mm: Number, limits: WidthLimits, *, seam_mm: Number = 0, both_edges_tight: bool = True
) -> CountRange:
    """Return the fewest and most strakes of equal width that fill a girth within the limits.

    n fits when n low <= girth - (n + 1) g <= n high, g the seam (n seams where one edge is open): n is from
    (girth - g) / (high + g) rounded up and (girth - g) / (low + g) rounded down; `high` is the stock's width
    where that is less. Without seams: ceil(girth / high) and floor(girth / low). Derived here.

    >>> counts_that_fit(46, WidthLimits(full_width_mm=5)).most
    18
    >>> counts_that_fit(160, WidthLimits(full_width_mm=5)).fewest
    22

    Raises PlankingError when the girth is not above zero, the seam is below it, or the full width is not
    given.
    """
    girth, seam = exact_mm(girth_mm, field="girth_mm"), exact_mm(seam_mm, field="seam_mm")
    if girth <= 0:
        raise refusal("girth_mm", "must be more than nothing")
    if seam < 0:
        raise refusal("seam_mm", "cannot be below zero")
    high = limits.widest_mm if limits.stock_mm is None else min(limits.widest_mm, limits.stock_mm)
    room = girth - (seam if both_edges_tight else 0)
    fewest, most = math.ceil(room / (high + seam)), math.floor(room / (limits.narrowest_mm + seam))
    return CountRange(max(1, fewest), most)


def warn_of_widths(
    at: str, widths_mm: tuple[Fraction, ...], limits: WidthLimits, counts: CountRange, full_words: str
) -> tuple[WidthWarning, ...]:
    """Return a warning for each rule that the widths at a station break; the worst strake speaks for it.

    `full_words` is what the full width is called ("the full width", "the widest").

    >>> limits = WidthLimits(full_width_mm=5)
    >>> fit = counts_that_fit(46, limits)
    >>> warn_of_widths("stem", (Fraction("2.3"),) * 20, limits, fit, "the full width")[0].sentence
    'At stem 2.30 is under 2.50, half the full width 5.00; 7 to 18 strakes would do.'
    """
    full = f"{full_words} {show_mm(limits.full_mm)}"
    low, high, stock = limits.narrowest_mm, limits.widest_mm, limits.stock_mm
    bottom, top = min(widths_mm), max(widths_mm)
    found: list[WidthWarning] = []

    def warn(rule: Rule, width: Fraction, limit: Fraction, words: str) -> None:
        shown, limit_shown = _told_apart(width, limit)
        relation = words.format(limit=limit_shown)
        sentence = f"At {at} {shown} is {relation}; {counts.words}."
        found.append(WidthWarning(rule, widths_mm.index(width), width, limit, sentence, counts))

    if stock is not None and top > stock:
        warn("wider than the stock", top, stock, "wider than the stock, {limit}")
    if bottom < low:
        share = _share_in_words(exact_mm(limits.narrowest_share))
        warn("under the narrowest share", bottom, low, f"under {{limit}}, {share} {full}")
    if top > high:
        share = _share_in_words(exact_mm(limits.widest_share))
        warn("over the widest share", top, high, f"over {{limit}}, {share} {full}")
    return tuple(found)


def _share_in_words(share: Fraction) -> str:
    names = {Fraction(1, 2): "half", Fraction(3, 2): "one and a half times", Fraction(1): "as much as"}
    return names.get(share, f"{float(share):.4g} times")


def _told_apart(value: Fraction, other: Fraction) -> tuple[str, str]:
    """Both with as many places as it takes to tell them apart, two at least, six at most."""
    places = 2
    while places < 6 and show_mm(value, places) == show_mm(other, places):
        places += 1
    return show_mm(value, places), show_mm(other, places)
