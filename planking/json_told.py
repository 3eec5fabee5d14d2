"""From results to JSON: dataclasses become objects, exact numbers become plain ones."""

import json
import math
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from fractions import Fraction
from typing import Any, cast

from planking.errors import PlankingError
from planking.scales import Scale


def told(value: object) -> Any:
    """Return a result as JSON knows it; a Fraction becomes the nearest number, a whole one an integer.

    >>> told((Fraction(1, 2), Fraction(3), None, Scale(1, 48)))
    [0.5, 3, None, '1:48']

    Raises PlankingError for NaN and infinities, which JSON has no sign for.
    """
    if value is None or isinstance(value, str | bool | int):
        return value
    if isinstance(value, Scale):
        return str(value)
    if isinstance(value, Fraction):
        return value.numerator if value.denominator == 1 else float(value)
    if isinstance(value, Mapping):
        return {str(key): told(one) for key, one in value.items()}
    if isinstance(value, tuple | list):
        return [told(one) for one in value]
    if is_dataclass(value):
        return {one.name: told(getattr(value, one.name)) for one in fields(cast(Any, value))}
    return _finite(float(cast(Any, value)))


def print_json(value: object) -> str:
    """Return the text of a JSON answer.

    >>> print_json({"gap_mm": Fraction(1, 2)})
    '{\\n  "gap_mm": 0.5\\n}'
    """
    return json.dumps(told(value), indent=2, ensure_ascii=False, allow_nan=False)


def _finite(number: float) -> float:
    if not math.isfinite(number):
        raise PlankingError("answer", "The answer holds a number that is not finite.")
    return number
