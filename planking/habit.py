"""Is the cutting biased? The chart that tells a habit from luck, and bias and scatter with their bars."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from planking import words
from planking.cusum import Cusum, cusum
from planking.errors import PlankingError
from planking.sureness import prediction_interval, student_factor

SLACK, LIMIT = 0.417, 4.80
"""Half the shift to be found, and the limit for one false alarm in 200 strakes (by simulation)."""

PRIOR_FREEDOM = 4.0
FARTHEST = 8.0
"""A standardised value is held to this; beyond it the tail of the t distribution has no digits left."""


@dataclass(frozen=True)
class Habit:
    """What the strakes in the order of cutting say of the hand: chart, alarms, bias and scatter with their
    bars.

    `alarms` are the places in the series (counted from nought) where the chart passed its limit;
    `standardised` the values it was drawn from. The interval of the bias is None for fewer than two strakes.
    """

    chart: Cusum
    standardised: tuple[float, ...]
    alarms: tuple[int, ...]
    bias_mm: float
    bias_low_mm: float | None
    bias_high_mm: float | None
    scatter_mm: float
    scatter_low_mm: float
    scatter_high_mm: float
    next_low_mm: float | None
    next_high_mm: float | None
    sentence: str


def habit(deviations_mm: Sequence[float], *, scatter_mm: float = 0.06) -> Habit:
    """Return whether the cutting runs to one side: a two-sided CUSUM on one number a strake.

    d_i is the mean deviation of strake i over its stations. Its scale is learned from the strakes before it,

        s_i^2 = (nu0 s0^2 + SS before i about their mean) / (nu0 + max(i - 2, 0)),   z_i = Phi^-1(F_t(d_i /
        s_i)),

    so that one chart serves every hand; slack 0.417 (half a shift of 0.05 in 0.06), limit 4.80, nu0 = 4
    (by simulation: a false alarm every 205 strakes, a habit of 0.05 found in 13.9 on average). After an
    alarm the sum counts from nought. Bias interval: Student t; scatter interval: chi-square with the prior's
    freedom. Raises PlankingError for a deviation that is not a number.

    >>> habit([0.09] * 8).alarms
    (4,)
    """
    if not math.isfinite(scatter_mm) or scatter_mm <= 0:
        raise PlankingError("scatter_mm", "The cutting scatter is a length above nought.")
    if any(not math.isfinite(value) for value in deviations_mm):
        raise PlankingError("deviations_mm", "A deviation is not a number.")
    standardised = _standardised(deviations_mm, scatter_mm)
    chart = cusum(standardised, slack=SLACK, limit=LIMIT, restart=True)
    alarms = tuple(sorted({*chart.high_alarms, *chart.low_alarms}))
    mean, low, high = _bias(deviations_mm, scatter_mm)
    scatter, least, most = _scatter(deviations_mm, scatter_mm)
    told = _told_of_habit(deviations_mm, chart, alarms, mean)
    next_low, next_high = _next(len(deviations_mm), mean, scatter)
    return Habit(
        chart, standardised, alarms, mean, low, high, scatter, least, most, next_low, next_high, told
    )


def _next(count: int, mean: float, scatter: float) -> tuple[float, float] | tuple[None, None]:
    if count < 2:
        return None, None
    return prediction_interval(mean, scatter, count, freedom=PRIOR_FREEDOM + count - 1)


def _standardised(deviations: Sequence[float], prior: float) -> tuple[float, ...]:
    from scipy.special import ndtri, stdtr

    found: list[float] = []
    mean = squares = 0.0
    for index, value in enumerate(deviations):
        freedom = PRIOR_FREEDOM + max(index - 1, 0)
        scale = math.sqrt((PRIOR_FREEDOM * prior**2 + squares) / freedom)
        score = float(ndtri(stdtr(freedom, value / scale)))
        found.append(min(max(score, -FARTHEST), FARTHEST))
        # Mean and squares of the strakes before the next one, carried along (Welford).
        step = value - mean
        mean += step / (index + 1)
        squares += step * (value - mean)
    return tuple(found)


def _bias(deviations: Sequence[float], prior: float) -> tuple[float, float | None, float | None]:
    count = len(deviations)
    if not count:
        return 0.0, None, None
    mean = sum(deviations) / count
    if count < 2:
        return mean, None, None
    squares = sum((one - mean) ** 2 for one in deviations)
    freedom = PRIOR_FREEDOM + count - 1
    error = math.sqrt((PRIOR_FREEDOM * prior**2 + squares) / freedom / count)
    half = student_factor(freedom, 0.95) * error
    return mean, mean - half, mean + half


def _scatter(deviations: Sequence[float], prior: float) -> tuple[float, float, float]:
    from scipy.special import chdtri

    count = len(deviations)
    mean = sum(deviations) / count if count else 0.0
    freedom = PRIOR_FREEDOM + max(count - 1, 0)
    total = PRIOR_FREEDOM * prior**2 + sum((one - mean) ** 2 for one in deviations)
    low, high = float(chdtri(freedom, 0.025)), float(chdtri(freedom, 0.975))
    return math.sqrt(total / freedom), math.sqrt(total / low), math.sqrt(total / high)


def _told_of_habit(deviations: Sequence[float], chart: Cusum, alarms: tuple[int, ...], mean: float) -> str:
    if not alarms:
        return "No habit shows." if deviations else "Nothing was cut yet."
    last, count = alarms[-1], len(deviations)
    wide = last in chart.high_alarms
    if mean <= 0 if wide else mean >= 0:
        # A hand that has turned: the mean of all would contradict the alarm, so that of its own strakes is told.
        begun = _begun(chart.high, chart.high_alarms) if wide else _begun(chart.low, chart.low_alarms)
        count = last + 1 - begun
        mean = sum(deviations[begun : last + 1]) / count
    way = "wide" if wide else "narrow"
    told = f"Readings run {way}: {words.mm(abs(mean))} a strake over {words.count(count, 'strake')}"
    return f"{told}; check the instrument's zero on a block, then the cutting."


def _begun(sums: Sequence[float], alarms: tuple[int, ...]) -> int:
    """Return the first strake that the last alarm's sum holds: the one after that sum last stood at nought."""
    begun = alarms[-1]
    while begun and sums[begun - 1] > 0 and begun - 1 not in alarms:
        begun -= 1
    return begun
