"""How figures are said: two decimals, a true minus sign, and the words of the trade for wide and narrow.

Every sentence of this package is built from these few functions, so that one figure is never said in two
ways.
"""

from collections.abc import Sequence
from itertools import pairwise

MINUS = "−"
DEAD_FLAT = {"df", "⊗", "dead flat"}


def mm(length: float) -> str:
    """Return the length as it is said on a screen: two decimals, and a true minus sign where one must stand.

    >>> mm(0.4), mm(-0.004), mm(-1.5)
    ('0.40', '0.00', '−1.50')
    """
    text = f"{abs(length):.2f}"
    return MINUS + text if length < 0 and float(text) else text


def wide(deviation: float) -> str:
    """Return the deviation of a width in the builder's words.

    >>> wide(0.06), wide(-0.1), wide(0.001)
    ('wide by 0.06', 'narrow by 0.10', 'as planned')
    """
    if not round(abs(deviation), 2):
        return "as planned"
    return f"{'wide' if deviation > 0 else 'narrow'} by {mm(abs(deviation))}"


def short(shortage: float) -> str:
    """Return a shortage of the gap in the builder's words.

    >>> short(0.4), short(-0.12), short(0.0)
    ('short by 0.40', 'over by 0.12', 'as planned')
    """
    if not round(abs(shortage), 2):
        return "as planned"
    return f"{'short' if shortage > 0 else 'over'} by {mm(abs(shortage))}"


def room(width: float) -> str:
    """Return a width that may turn out to be none at all.

    >>> room(3.94), room(-0.71)
    ('3.94', 'no room')
    """
    return mm(width) if round(width, 2) > 0 else "no room"


def would_be(width: float) -> str:
    """Return what a strake would be, or that there is no room for it.

    >>> would_be(3.94), would_be(-0.71)
    ('be 3.94', 'have no room')
    """
    return f"be {mm(width)}" if round(width, 2) > 0 else "have no room"


def less(planned: float, now: float) -> float:
    """Return what is shown of the one less what is shown of the other, so that the three add up on a page.

    >>> less(4.496, 4.414)
    0.09
    """
    return round(round(planned, 2) - round(now, 2), 2) + 0.0


def station(name: str) -> str:
    """Return the name of a station as it stands in a sentence; the midship frame has its own word.

    >>> station("D"), station("DF"), station("⊗")
    ('D', 'dead flat', 'dead flat')
    """
    return "dead flat" if name.casefold() in DEAD_FLAT else name


def strakes(labels: Sequence[str]) -> str:
    """Return the strakes by name: one, a stretch of whole numbers in order, or a list.

    >>> strakes(["7"]), strakes(["9", "8", "7"]), strakes(["3", "3a", "9"])
    ('strake 7', 'strakes 9 to 7', 'strakes 3, 3a and 9')
    """
    if len(labels) == 1:
        return f"strake {labels[0]}"
    if len(labels) > 2 and _is_stretch(labels):
        return f"strakes {labels[0]} to {labels[-1]}"
    return "strakes " + listed(labels)


def listed(items: Sequence[str]) -> str:
    """Return the items as a list in words.

    >>> listed(["A"]), listed(["A", "B", "C"])
    ('A', 'A, B and C')
    """
    if len(items) < 2:
        return "".join(items)
    return ", ".join(items[:-1]) + " and " + items[-1]


def count(number: int, one: str, many: str | None = None) -> str:
    """Return the number with its noun.

    >>> count(1, "strake"), count(13, "seam")
    ('1 strake', '13 seams')
    """
    return f"{number} {one if number == 1 else many or one + 's'}"


def rounded_parts(parts: Sequence[float], decimals: int = 2) -> tuple[float, ...]:
    """Return the parts rounded so that they add to their rounded total, by the running remainder.

    Each partial sum is rounded, and a part is the step from one rounded sum to the next; so no partial sum
    is out by more than half a unit of the last decimal, and the parts add up exactly as shown (by
    telescoping).

    >>> rounded_parts([0.134, 0.0, 0.196])
    (0.13, 0.0, 0.2)
    """
    shown: list[float] = []
    total, before = 0.0, 0.0
    for part in parts:
        total += part
        now = round(total, decimals)
        shown.append(round(now - before, decimals) + 0.0)
        before = now
    return tuple(shown)


def _is_stretch(labels: Sequence[str]) -> bool:
    if not all(label.isdecimal() for label in labels):
        return False
    steps = {int(b) - int(a) for a, b in pairwise(labels)}
    return steps in ({1}, {-1})
