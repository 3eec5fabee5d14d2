"""What a picture refuses to draw, said in a sentence that names the thing at fault."""

import math
from itertools import pairwise

# A kilometre of model: anything longer is a slip of the keyboard, and sums of it would overflow.
LONGEST_MM = 1_000_000.0


def finite(value, thing):
    """Return the value as a float, or refuse what is not a plain finite number."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise ValueError(f"{thing} is not a number.")
    number = float(value) if abs(value) <= LONGEST_MM else math.inf
    if not math.isfinite(number):
        raise ValueError(f"{thing} is not a length that can be drawn.")
    return number


def width_or_none(value, thing):
    """Return a width above zero in mm, or None where the width is not known."""
    if value is None:
        return None
    number = finite(value, thing)
    if number < 1e-6:
        raise ValueError(f"{thing} must be above zero.")
    return number


def reach_or_none(value, thing):
    """Return a width in mm, zero where the strake does not reach, or None where it is not known."""
    if value is None:
        return None
    number = finite(value, thing)
    if number < 0:
        raise ValueError(f"{thing} is below zero.")
    return number if number >= 1e-6 else 0.0


def one_of(value, allowed, thing):
    """Return the value when it is one of those allowed."""
    if value not in allowed:
        raise ValueError(f"{thing} is {value!r}; it can be {', '.join(allowed)}.")
    return value


def same_count(values, count, thing):
    """Refuse a row of values that has not one value a station."""
    if values and len(values) != count:
        raise ValueError(f"{thing} has {len(values)} values for {count} stations.")


def rising(values, thing):
    """Refuse places that do not rise from aft to forward."""
    if any(after <= before for before, after in pairwise(values)):
        raise ValueError(f"{thing} must rise from aft to forward.")
