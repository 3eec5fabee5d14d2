"""Two cumulative sums of one series: one that grows when it runs high, one when it runs low (Page 1954)."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from planking.errors import PlankingError


@dataclass(frozen=True)
class Cusum:
    """The two sums after each value, and at which values (counted from nought) one of them passed its
    limit."""

    high: tuple[float, ...]
    low: tuple[float, ...]
    high_alarms: tuple[int, ...]
    low_alarms: tuple[int, ...]

    @property
    def first_alarm(self) -> int | None:
        """Return where the first alarm stands, high or low, or nothing."""
        return min((*self.high_alarms, *self.low_alarms), default=None)


def cusum(
    values: Sequence[float],
    *,
    target: float = 0.0,
    slack: float,
    limit: float,
    head_start: float = 0.0,
    restart: bool = False,
) -> Cusum:
    """Return the two-sided cumulative sum chart of some values.

    C+ = max(0, C+ + (x - target) - slack), C- = max(0, C- - (x - target) - slack), alarm above `limit`; both
    begin at `head_start`. With `restart` the sum that raised an alarm counts from nought again, else it runs
    on. Units are those of the values. Source: Page 1954; Lucas and Crosier 1982 for the head start; checked
    against printed tables in the tests. Raises PlankingError for a value that is not a number.

    >>> cusum([0.8, 1.9, 1.4, 2.0], slack=0.5, limit=5.0, head_start=2.5).first_alarm
    2
    """
    if any(not math.isfinite(value) for value in (*values, target, slack, limit, head_start)):
        raise PlankingError("values", "A deviation is not a number.")
    up = down = head_start
    high, low, high_alarms, low_alarms = [], [], [], []
    for index, value in enumerate(values):
        up = max(0.0, up + (value - target) - slack)
        down = max(0.0, down - (value - target) - slack)
        high.append(up)
        low.append(down)
        if up > limit:
            high_alarms.append(index)
            up = 0.0 if restart else up
        if down > limit:
            low_alarms.append(index)
            down = 0.0 if restart else down
    return Cusum(tuple(high), tuple(low), tuple(high_alarms), tuple(low_alarms))


def ewma(values: Sequence[float], *, start: float, share: float) -> tuple[float, ...]:
    """Return the exponentially weighted moving average after each value: E = share x value + (1 - share) x E.

    Source: Roberts 1959; checked against a printed table in the tests.

    >>> ewma([2.0, 2.0], start=0.0, share=0.5)
    (1.0, 1.5)
    """
    if not 0 < share <= 1:
        raise PlankingError("share", "The share of the newest value lies between nought and one.")
    averages, average = [], start
    for value in values:
        average = share * value + (1 - share) * average
        averages.append(average)
    return tuple(averages)
