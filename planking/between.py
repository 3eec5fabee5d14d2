"""What to believe between measured stations: the deviation on a straight line, with an honest bar.

The deviation is carried between stations, never the width or the girth: the plan already holds the hull's
shape. A straight line with a Brownian-bridge bar was never dishonest in simulation, and within a few per
cent of the best unless readings are noisy and the field smooth.
"""

import math
from collections.abc import Sequence
from itertools import pairwise

from planking.errors import PlankingError

ROUGHNESS_MM2 = 0.2
"""Prior of the bridge for a whole run's drift: 0.2 mm^2 over the length of the hull (a reasoned default)."""


def bridge_roughness(
    places_mm: Sequence[float],
    values_mm: Sequence[float],
    u_mm: Sequence[float],
    prior_mm2: float = ROUGHNESS_MM2,
) -> float:
    """Return c^2, how fast a deviation wanders along the hull, in mm^2 a mm.

    c^2 = max(1e-4 / length, (sum over intervals of (dy^2 - u_a^2 - u_b^2)/h + 3 c0^2) / (intervals + 3)),
    with c0^2 = `prior_mm2` over the length of the hull. Source: derived here.

    >>> round(bridge_roughness([0.0, 50.0, 100.0], [0.0, 0.1, 0.0], [0.02] * 3), 6)
    0.001274
    """
    length = max(places_mm) - min(places_mm)
    if length <= 0:
        return 0.0
    total = 3 * prior_mm2 / length
    for (x0, x1), (y0, y1), (u0, u1) in zip(_pairs(places_mm), _pairs(values_mm), _pairs(u_mm), strict=True):
        total += ((y1 - y0) ** 2 - u0**2 - u1**2) / (x1 - x0)
    return max(1e-4 / length, total / (len(places_mm) + 2))


def on_the_line(
    places_mm: Sequence[float],
    values_mm: Sequence[float],
    u_mm: Sequence[float],
    at_mm: float,
    roughness: float,
) -> tuple[float, float]:
    """Return the deviation believed at a place and its standard doubt.

    Between two measured places y = (1-t) y_a + t y_b and u^2 = (1-t)^2 u_a^2 + t^2 u_b^2 + c^2 h t (1-t).
    Beyond the last one the value is held and u^2 = u_b^2 + c^2 distance. Places grow. Source: derived here.

    >>> on_the_line([0.0, 10.0], [0.0, 0.2], [0.0, 0.0], 5.0, 0.004)
    (0.1, 0.1)
    """
    if not places_mm:
        raise PlankingError(
            "stations", "Nothing was measured along the hull, so nothing can be said between."
        )
    if at_mm <= places_mm[0]:
        return values_mm[0], math.sqrt(u_mm[0] ** 2 + roughness * (places_mm[0] - at_mm))
    if at_mm >= places_mm[-1]:
        return values_mm[-1], math.sqrt(u_mm[-1] ** 2 + roughness * (at_mm - places_mm[-1]))
    after = next(index for index, place in enumerate(places_mm) if place > at_mm)
    before = after - 1
    h = places_mm[after] - places_mm[before]
    t = (at_mm - places_mm[before]) / h
    spread = ((1 - t) * u_mm[before]) ** 2 + (t * u_mm[after]) ** 2 + roughness * h * t * (1 - t)
    return (1 - t) * values_mm[before] + t * values_mm[after], math.sqrt(spread)


def _pairs(values: Sequence[float]) -> list[tuple[float, float]]:
    return list(pairwise(values))
