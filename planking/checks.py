"""What lengths and lists of facts are checked for when made; each refusal a sentence with its field."""

import math
from collections.abc import Iterable

from planking.errors import PlankingError

LONGEST_MM = 20_000.0
"""No strake, girth or gap of a model is longer than this; a larger figure is a slip of the pen."""


def check_finite(key: str, value: float | None, what: str) -> None:
    if value is not None and not math.isfinite(value):
        raise PlankingError(key, f"{what[0].upper()}{what[1:]} is not a number.")


def check_length(key: str, value: float, what: str, *, above_nought: bool = False) -> None:
    check_finite(key, value, what)
    if value < 0 or (above_nought and value == 0):
        raise PlankingError(key, f"{what[0].upper()}{what[1:]} cannot be less than nought.")
    if value > LONGEST_MM:
        raise PlankingError(
            key, f"{what[0].upper()}{what[1:]} is {value:g} mm; that is longer than any model."
        )


def check_once(key: str, names: Iterable[object], what: str) -> None:
    seen: set[object] = set()
    for name in names:
        if name in seen:
            said = " at ".join(name) if isinstance(name, tuple) else name
            raise PlankingError(key, f"{what} {said} is given twice.")
        seen.add(name)
