"""Which other number of strakes would fill the gap left, when the planned one cannot."""

import math
from collections.abc import Sequence

from planking.opening import Opening
from planking.plain_sum import PlainSum
from planking.reviewed import CountThatWouldDo

MOST_AWAY = 3


def counts_that_would_do(opening: Opening, sums: Sequence[PlainSum]) -> tuple[CountThatWouldDo, ...]:
    """Return the counts of strakes left that fit at every station where anything is known, the best first.

    n fits at a station when n x narrowest <= room <= n x widest, limits by the mean planned width there;
    adding or dropping a strake adds or drops its seam. Counts up to three away are tried; the best is the
    one whose widths stand nearest the planned ones. Source: derived here. Empty where no count
    fits.
    """
    known = [one for one in sums if one.left and one.room_mm is not None]
    if not known:
        return ()
    now = max(len(one.left) for one in known)
    found = []
    for away in range(-MOST_AWAY, MOST_AWAY + 1):
        if away and now + away > 0:
            option = _option(opening, known, now, away)
            if option is not None:
                found.append(option)
    return tuple(one for _, one in sorted(found, key=lambda pair: pair[0]))


def _option(
    opening: Opening, known: Sequence[PlainSum], now: int, away: int
) -> tuple[float, CountThatWouldDo] | None:
    each: dict[str, float] = {}
    cost = 0.0
    for one in known:
        number = len(one.left) + away
        room = (one.room_mm or 0.0) - away * one.seam_mm
        mean = one.planned_widths_mm / len(one.left)
        if number <= 0 or mean <= 0:
            return None
        lowest, highest = opening.limits.widths_mm(mean)
        width = room / number
        if not lowest <= width <= highest:
            return None
        each[one.station] = width
        cost += math.log(width / mean) ** 2
    low, high = min(each, key=lambda name: each[name]), max(each, key=lambda name: each[name])
    return cost, CountThatWouldDo(now + away, each[low], each[high], low, high)
