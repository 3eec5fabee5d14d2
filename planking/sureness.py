"""How sure: Student's factor, the freedom of a sum, and the interval of the next one of a kind."""

import math
from collections.abc import Sequence

from planking.errors import PlankingError


def student_factor(freedom: float, share: float) -> float:
    """Return the factor t by which a standard doubt is multiplied to hold a share of cases, two-sided.

    Source: Student's t distribution, by scipy.special.stdtrit; against NIST TN 1297, table B.1 in the tests.

    >>> round(student_factor(10, 0.95), 2)
    2.23
    """
    from scipy.special import stdtrit

    if not freedom > 0:
        raise PlankingError("freedom", "The degrees of freedom are more than nought.")
    if not 0 < share < 1:
        raise PlankingError("share", "The share of cases lies between nought and one.")
    return float(stdtrit(freedom, (1 + share) / 2))


def effective_freedom(variance: float, parts: Sequence[tuple[float, float]]) -> float:
    """Return the degrees of freedom of a sum: nu = V^2 / sum (V_i^2 / nu_i) over its unsure parts (V_i,
    nu_i).

    Parts that are known exactly are left out of `parts` and stand in `variance` only. Infinite where none is
    unsure. Source: Welch-Satterthwaite, JCGM 100:2008 (GUM), G.4.

    >>> round(effective_freedom(2.0, [(1.0, 10.0)]), 1)
    40.0
    """
    below = sum(part**2 / freedom for part, freedom in parts)
    return variance**2 / below if below > 0 else math.inf


def prediction_interval(
    mean: float, scatter: float, count: int, share: float = 0.95, *, freedom: float | None = None
) -> tuple[float, float]:
    """Return where the next one of a kind will lie: mean -/+ t s sqrt(1 + 1/n).

    `freedom` is n - 1 unless the scatter was learned from more. Source: Student; the printed case stands in
    the tests. Raises PlankingError for fewer than two of a kind, of which no interval can be made.

    >>> [round(edge, 2) for edge in prediction_interval(1312.0, 25.0, 10)]
    [1252.69, 1371.31]
    """
    if count < 2:
        raise PlankingError("count", "One of a kind gives no interval.")
    half = (
        student_factor(count - 1 if freedom is None else freedom, share) * scatter * math.sqrt(1 + 1 / count)
    )
    return mean - half, mean + half
