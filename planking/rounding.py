"""Rounding: whole nanometres, runs with every seam within half a step, splits that leave nothing over."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from planking.errors import refusal
from planking.units import Number, exact_mm

NM = Fraction(1, 1_000_000)
"""One nanometre in mm: the step in which records are kept."""


def to_nm(value_mm: Number) -> int:
    """Return the length in whole nanometres, a tie going to the even one.

    What the rounding leaves is `nm_remainder`. Exact for Fractions; a float is taken for exactly what it
    holds.

    >>> to_nm(Fraction(127, 20)), to_nm(Fraction(10, 3))
    (6350000, 3333333)

    Raises PlankingError for NaN and infinities.
    """
    return round(exact_mm(value_mm) / NM)


def nm_remainder(value_mm: Number) -> Fraction:
    """Return what rounding to whole nanometres leaves, in mm: the exact length less the rounded one.

    >>> nm_remainder(Fraction(10, 3))
    Fraction(1, 3000000)

    Raises PlankingError for NaN and infinities.
    """
    return exact_mm(value_mm) - to_nm(value_mm) * NM


def from_nm(value_nm: int) -> Fraction:
    """Return whole nanometres as exact mm.

    >>> from_nm(4_762_500)
    Fraction(381, 80)
    """
    return value_nm * NM


@dataclass(frozen=True)
class RoundedRun:
    """A run of widths in whole steps, with the marks to strike from the first edge.

    `steps[i]` is strake i in whole steps, `marks[i]` the edge behind it, counted in steps from the first
    edge, `errors_mm[i]` how far that mark lies beyond its exact place (never more than half a step either
    way).
    """

    step_mm: Fraction
    steps: tuple[int, ...]
    marks: tuple[int, ...]
    errors_mm: tuple[Fraction, ...]

    @property
    def widths_mm(self) -> tuple[Fraction, ...]:
        return tuple(count * self.step_mm for count in self.steps)

    @property
    def marks_mm(self) -> tuple[Fraction, ...]:
        return tuple(count * self.step_mm for count in self.marks)

    @property
    def largest_error_mm(self) -> Fraction:
        return max((abs(amount) for amount in self.errors_mm), default=Fraction(0))


def round_run(widths_mm: Sequence[Fraction], step_mm: Fraction, *, field: str = "widths_mm") -> RoundedRun:
    """Return the widths in whole steps, rounded by running remainder.

    T_i = w_1 + .. + w_i exact, N_i = T_i / q rounded half to even, n_i = N_i - N_(i-1). Then n_1 + .. + n_i
    = N_i and |N_i q - T_i| <= q/2: every seam stands within half a step however many strakes there are, where
    rounding each width by itself lets the faults add up. A single width is within one step. Derived here.
    Use Fractions: at 1:48 a sixteenth of an inch is 127/3840 mm, which no binary float holds, and ties would
    fall the wrong way.

    >>> round_run([Fraction(10, 3)] * 3, Fraction(1)).steps
    (3, 4, 3)
    >>> round_run([Fraction(10, 3)] * 3, Fraction(1)).marks
    (3, 7, 10)

    Raises PlankingError when the step is not above zero or a width is below zero.
    """
    if step_mm <= 0:
        raise refusal("step_mm", "must be more than nothing")
    marks: list[int] = []
    errors: list[Fraction] = []
    edge = Fraction(0)
    for number, width in enumerate(widths_mm, start=1):
        if width < 0:
            raise refusal(field, f"number {number} is below zero")
        edge += width
        marks.append(round(edge / step_mm))
        errors.append(marks[-1] * step_mm - edge)
    steps = tuple(mark - before for mark, before in zip(marks, [0, *marks], strict=False))
    return RoundedRun(Fraction(step_mm), steps, tuple(marks), tuple(errors))


def split_nm(
    total_mm: Fraction, shares: int | Sequence[Fraction], *, field: str = "total_mm"
) -> tuple[int, ...]:
    """Return a length split into parts of whole nanometres that add up to the length in whole nanometres.

    `shares` is a number of equal parts, or the shares themselves (5/4 at the keel, 1 elsewhere). Rounded by
    running remainder, so parts of equal share differ by one nanometre at most.

    >>> split_nm(Fraction(10), 3)
    (3333333, 3333334, 3333333)
    >>> sum(split_nm(Fraction(10), 3))
    10000000

    Raises PlankingError when the length is below zero, there are no parts, or a share is not above zero.
    """
    if total_mm < 0:
        raise refusal(field, "is below zero")
    parts = [Fraction(1)] * shares if isinstance(shares, int) else [Fraction(share) for share in shares]
    if not parts:
        raise refusal("shares", "there must be at least one part")
    if any(share <= 0 for share in parts):
        raise refusal("shares", "every share must be more than nothing")
    whole = sum(parts)
    return round_run([total_mm * share / whole for share in parts], NM).steps
