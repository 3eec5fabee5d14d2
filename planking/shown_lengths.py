"""Lengths shown back: mm, decimal inches, and feet, inches and fractions at full size."""

import math
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from planking.errors import refusal
from planking.scales import Scale
from planking.units import INCH_MM, Number, exact_mm

MINUS = "−"
"""The true minus sign; the reader of lengths takes it back."""


def show_mm(value_mm: Number, places: int = 2) -> str:
    """Return the length in mm with so many places, a tie going to the even figure; never "-0.00".

    >>> show_mm(Fraction(381, 80)), show_mm(Fraction(-1, 1000)), show_mm(5, places=0)
    ('4.76', '0.00', '5')

    Raises PlankingError for NaN and infinities.
    """
    steps = round(exact_mm(value_mm) * 10**places)
    whole, part = divmod(abs(steps), 10**places)
    sign = MINUS if steps < 0 else ""
    return f"{sign}{whole}.{part:0{places}d}" if places else f"{sign}{whole}"


def show_decimal_inch(value_mm: Number, places: int = 3) -> str:
    """Return the length in decimal inches, for calipers that read them.

    >>> show_decimal_inch(Fraction(381, 80))
    '0.188'

    Raises PlankingError for NaN and infinities.
    """
    return show_mm(exact_mm(value_mm) / INCH_MM, places)


_PARTS = {
    2: ("half", "halves"), 3: ("third", "thirds"), 4: ("quarter", "quarters"), 8: ("eighth", "eighths"),
    16: ("sixteenth", "sixteenths"), 32: ("thirty-second", "thirty-seconds"),
    64: ("sixty-fourth", "sixty-fourths"),
}  # fmt: skip


@dataclass(frozen=True)
class FractionText:
    """A full-size length in feet, inches and a fraction in lowest terms, and what that leaves unsaid.

    `remainder_mm` is the exact length less the one shown, in mm on the model. `feet` is 0 unless feet were
    asked for.
    """

    feet: int
    whole: int
    numerator: int
    denominator: int
    negative: bool
    remainder_mm: Fraction

    @property
    def is_exact(self) -> bool:
        return self.remainder_mm == 0

    @property
    def text(self) -> str:
        """`8 5/16 in`, `9 ft 4 1/2 in`, `1/16 in`, `0 in`."""
        part = f"{self.numerator}/{self.denominator}" if self.numerator else ""
        inches = " ".join(filter(None, [str(self.whole) if self.whole or not part else "", part]))
        return f"{MINUS if self.negative else ''}{f'{self.feet} ft ' if self.feet else ''}{inches} in"

    @property
    def marked(self) -> str:
        """The text, with "roughly" before it where the fraction is not the whole truth."""
        return self.text if self.is_exact else f"roughly {self.text}"

    @property
    def spoken(self) -> str:
        """`8 and 5 sixteenths`, for a screen reader; the unit is said by the page."""
        words = []
        if self.feet:
            words.append(f"{self.feet} {'foot' if self.feet == 1 else 'feet'}")
        if self.whole or not self.numerator:
            words.append(str(self.whole))
        if self.numerator:
            one, many = _PARTS.get(self.denominator, (f"over {self.denominator}",) * 2)
            words += ["and"] if self.whole else []
            words.append(f"{self.numerator} {one if self.numerator == 1 else many}")
        return ("minus " if self.negative else "") + " ".join(words)


def show_full_size(
    value_mm: Number, scale: Scale, step: Fraction = Fraction(1, 16), *, feet: bool = False
) -> FractionText:
    """Return a model length as inches and a fraction at full size, to the nearest `step` of an inch.

    Ties go to the even step. With `feet`, twelve inches become a foot. Give `FULL_SIZE` as the scale to see
    the model's own length in inches.

    >>> shown = show_full_size(Fraction(440, 100), Scale(1, 48))
    >>> shown.text, shown.spoken
    ('8 5/16 in', '8 and 5 sixteenths')

    Raises PlankingError for NaN, infinities, and a step that is not above zero.
    """
    if step <= 0:
        raise refusal("step", "must be more than nothing")
    exact, step_mm = exact_mm(value_mm), _step_on_model_mm(scale, step)
    steps = round(exact / step_mm)
    # Whole numbers from here on: a page shows thousands of lengths, and every Fraction costs a common divisor.
    whole, over = divmod(abs(steps) * step.numerator, step.denominator)
    shared = math.gcd(over, step.denominator)
    feet_count, whole = divmod(whole, 12) if feet else (0, whole)
    return FractionText(
        feet_count, whole, over // shared, step.denominator // shared, steps < 0, exact - steps * step_mm
    )


@lru_cache(maxsize=64)
def _step_on_model_mm(scale: Scale, step: Fraction) -> Fraction:
    return scale.to_model_mm(step * INCH_MM)
