"""The one bounded, fair least-squares solver: many widths, a sum to keep at each station, a limit on each
width.

    minimise   x'Hx/2 - g'x      subject to   A x = totals,   lowest <= x <= highest

H is positive definite and sparse. Rounds of block principal pivoting (fix every bound that is broken, free
every one whose multiplier has the wrong sign, all at once) on scipy's sparse LU; if the number of wrong
indices does not fall for six rounds, a primal active set from a feasible point, which is finite (Nocedal and
Wright, ch. 16).
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from planking.errors import PlankingError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

ROUNDS = 60
STUBBORN = 6
LOOSENESS = 1e-10
"""The diagonal that keeps the KKT matrix quasi-definite; sums come out to better than 1e-7 mm."""

ON_BOUND_MM = 1e-9


@dataclass(frozen=True)
class Fair:
    """A solution: the widths, the multiplier of each sum, how many rounds and whether the fallback was
    needed."""

    x: "Array"
    multipliers: "Array"
    rounds: int
    fell_back: bool = False


@dataclass(frozen=True)
class Problem:
    """What the solver is given; H and A as scipy sparse matrices."""

    hessian: Any
    gradient: "Array"
    sums: Any
    totals: "Array"
    lowest: "Array"
    highest: "Array"


def solve(problem: Problem) -> Fair:
    """Return the widths that minimise the unfairness under their sums and limits.

    Every sum must be within reach of its limits; raises PlankingError naming `totals` where one is not.
    Accuracy: widths within 1e-6 mm of an independent solver (tests), sums within 1e-9 mm.

    >>> import numpy as np
    >>> from scipy.sparse import identity, csc_matrix
    >>> one = Problem(identity(3).tocsc(), np.array([5.0, 5.0, 5.0]), csc_matrix(np.ones((1, 3))),
    ...               np.array([14.0]), np.array([4.9, 0.0, 0.0]), np.array([9.0, 9.0, 9.0]))
    >>> [round(float(width), 3) for width in solve(one).x]
    [4.9, 4.55, 4.55]
    """
    import numpy as np

    _check_within_reach(problem)
    at_low = np.zeros(len(problem.gradient), dtype=bool)
    at_high = at_low.copy()
    fewest, stubborn = len(at_low) + 1, 0
    for round_number in range(1, ROUNDS + 1):
        x, multipliers, pull = _equality_solve(problem, at_low, at_high)
        free = ~(at_low | at_high)
        low, high = free & (x < problem.lowest - ON_BOUND_MM), free & (x > problem.highest + ON_BOUND_MM)
        freed_low, freed_high = at_low & (pull < -ON_BOUND_MM), at_high & (pull > ON_BOUND_MM)
        wrong = int((low | high | freed_low | freed_high).sum())
        if not wrong:
            return Fair(_with_exact_sums(problem, x, free), multipliers, round_number)
        stubborn = 0 if wrong < fewest else stubborn + 1
        fewest = min(fewest, wrong)
        if stubborn >= STUBBORN:
            break
        at_low, at_high = (at_low | low) & ~freed_low, (at_high | high) & ~freed_high
    return _active_set(problem)


def water_filled(wanted: "Array", lowest: "Array", highest: "Array", totals: "Array") -> "Array":
    """Return the widths nearest to those wanted that keep their limits and add to the totals, station by
    station.

    x = min(max(wanted + t, lowest), highest) with one t a station (rows are stations). Where the limits
    cannot reach the total, all stand at the limit. Derived here: the projection onto a sum and a box.

    >>> import numpy as np
    >>> wanted, lowest, highest = np.array([[5.0, 5.0]]), np.array([[4.9, 0.0]]), np.array([[9.0, 9.0]])
    >>> water_filled(wanted, lowest, highest, np.array([9.0])).tolist()
    [[4.9, 4.1]]
    """
    import numpy as np

    # The sum grows piecewise straight in t, with a corner where a width meets a limit.
    corners = np.sort(np.concatenate([lowest - wanted, highest - wanted], axis=1), axis=1)
    at_corner = np.clip(
        wanted[:, None, :] + corners[:, :, None], lowest[:, None, :], highest[:, None, :]
    ).sum(axis=2)
    filled = np.empty_like(wanted)
    for row in range(len(wanted)):
        t = float(np.interp(totals[row], at_corner[row], corners[row]))
        filled[row] = np.clip(wanted[row] + t, lowest[row], highest[row])
    return filled


def _check_within_reach(problem: Problem) -> None:
    least, most = _reachable(problem)
    if (least > problem.totals + 1e-7).any() or (most < problem.totals - 1e-7).any():
        raise PlankingError("totals", "The limits cannot reach the sum at every station.")


def _reachable(problem: Problem) -> "tuple[Array, Array]":
    """Return the least and the most that each sum can be inside the limits."""
    adding, taking = problem.sums.maximum(0), problem.sums.minimum(0)
    least = adding @ problem.lowest + taking @ problem.highest
    return least, adding @ problem.highest + taking @ problem.lowest


def _equality_solve(problem: Problem, at_low: Any, at_high: Any) -> "tuple[Array, Array, Array]":
    """Return widths, multipliers and pulls with some widths held at their limits."""
    import numpy as np
    from scipy.sparse import bmat, identity
    from scipy.sparse.linalg import splu

    held = np.where(at_low, problem.lowest, np.where(at_high, problem.highest, 0.0))
    free = np.nonzero(~(at_low | at_high))[0]
    sums = problem.sums[:, free]
    kkt = bmat(
        [[problem.hessian[free][:, free], sums.T], [sums, -LOOSENESS * identity(sums.shape[0])]], format="csc"
    )
    right = np.concatenate(
        [(problem.gradient - problem.hessian @ held)[free], problem.totals - problem.sums @ held]
    )
    found = splu(kkt).solve(right)
    x = held.copy()
    x[free] = found[: len(free)]
    multipliers = found[len(free) :]
    pull = problem.hessian @ x - problem.gradient + problem.sums.T @ multipliers
    return x, multipliers, pull


def _with_exact_sums(problem: Problem, x: "Array", free: Any) -> "Array":
    """Return the widths with the last 1e-8 of each sum given to its free widths, where no two share one."""
    import numpy as np

    if (abs(problem.sums).sum(axis=0) > 1).any() or problem.sums.min() < 0:
        return x
    missing = problem.totals - problem.sums @ x
    number = np.maximum(problem.sums @ free.astype(float), 1.0)
    return np.asarray(
        np.clip(x + free * (problem.sums.T @ (missing / number)), problem.lowest, problem.highest)
    )


def _feasible_start(problem: Problem) -> "Array":
    """Return widths within their limits that keep the sums: every width of a station at one share of its
    way."""
    import numpy as np

    least, most = _reachable(problem)
    way = np.where(most - least > 0, (problem.totals - least) / np.maximum(most - least, 1e-300), 0.0)
    share = problem.sums.T @ np.clip(way, 0.0, 1.0)
    return np.asarray(problem.lowest + share * (problem.highest - problem.lowest))


def _active_set(problem: Problem) -> Fair:
    """Return the solution by a primal active set: one limit taken up or let go at a time."""
    import numpy as np

    x = _feasible_start(problem)
    at_low, at_high = x <= problem.lowest + ON_BOUND_MM, x >= problem.highest - ON_BOUND_MM
    at_high &= ~at_low
    for count in range(1, 20 * len(x) + 100):
        wanted, multipliers, pull = _equality_solve(problem, at_low, at_high)
        step = wanted - x
        step[at_low | at_high] = 0.0
        reach, blocking = _reach(problem, x, step, at_low | at_high)
        x = x + reach * step
        if blocking is not None:
            at_low[blocking], at_high[blocking] = step[blocking] < 0, step[blocking] > 0
            continue
        wrong = np.where(at_low, -pull, np.where(at_high, pull, 0.0))
        worst = int(wrong.argmax())
        if wrong[worst] <= ON_BOUND_MM:
            return Fair(_with_exact_sums(problem, x, ~(at_low | at_high)), multipliers, count, fell_back=True)
        at_low[worst] = at_high[worst] = False
    raise PlankingError("limits", "No fair widths were found inside these limits.")


def _reach(problem: Problem, x: "Array", step: "Array", held: Any) -> tuple[float, int | None]:
    """Return how far a step may go before a free width meets a limit, and which one."""
    import numpy as np

    room = np.where(step > 0, problem.highest - x, problem.lowest - x)
    moving = (np.abs(step) > 1e-13) & ~held
    ratio = np.full(len(x), np.inf)
    ratio[moving] = np.maximum(room[moving] / step[moving], 0.0)
    first = int(ratio.argmin())
    return (float(ratio[first]), first) if ratio[first] < 1.0 else (1.0, None)
