"""Units a length may be typed in, and the exact mm behind each."""

import math
from fractions import Fraction
from typing import Literal

from planking.errors import refusal

Unit = Literal["mm", "cm", "m", "in", "ft", "thou"]
Size = Literal["model", "full"]
Number = int | float | Fraction

INCH_MM = Fraction(254, 10)
"""1 in = 25.4 mm exactly since 1 July 1959 (addendum of 22 January 1960 to NBS Circular 572)."""
FOOT_MM = 12 * INCH_MM
UNIT_MM: dict[Unit, Fraction] = {
    "mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000),
    "in": INCH_MM, "ft": FOOT_MM, "thou": INCH_MM / 1000,
}  # fmt: skip


def exact_mm(value: Number, *, field: str = "length") -> Fraction:
    """Return the number as a Fraction, exactly.

    >>> exact_mm(0.5)
    Fraction(1, 2)

    Raises PlankingError for NaN, infinities, and what is not a number.
    """
    if isinstance(value, bool) or not isinstance(value, int | float | Fraction):
        raise refusal(field, "is not a number")
    if isinstance(value, float) and not math.isfinite(value):
        raise refusal(field, "is not a finite number")
    return Fraction(value)
