"""What makes widths fair: near their share, steps like the planned ones, and seams that run smoothly.

The terms of the recut's sum of squares with two repairs: a seam's departure is
taken without the part that a corrected girth explains, and it counts only where the cutting is rough from
station to station.
"""

import itertools
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from planking import estimate
from planking.opening import Opening, Strake

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

STEP_WEIGHT = 0.5
FRONT_WEIGHT = 0.1
"""The step to a strake already hung weighs less: following its error moves the closing strake."""

SEAM_WEIGHT = 0.02
FEWEST_FOR_SEAMS = 5
ROUGH = 2.0
"""Readings are rough along the hull when their second differences exceed what their doubt explains by this
factor."""


@dataclass(frozen=True)
class Fronts:
    """The strakes beside the gap: how far each is off its plan, and how far the seams at the wale front have
    moved."""

    keel_side: "Array | None"
    wale_side: "Array | None"
    seam_moved: "Array"
    girth_moved: "Array"
    first: Strake


def front_departures(opening: Opening, solved: estimate.Ledger, left: tuple[Strake, ...]) -> Fronts:
    """Return how far the strakes beside the gap are off what they were cut to, as the whole ledger
    believes."""
    import numpy as np

    labels = [one.label for one in opening.strakes]
    low, high = labels.index(left[0].label), labels.index(left[-1].label)
    keel = _departure(solved, labels[low - 1]) if low and opening.strakes[low - 1].is_hung else None
    wale = None
    if high + 1 < len(labels) and opening.strakes[high + 1].is_hung:
        wale = _departure(solved, labels[high + 1])
    moved = np.zeros(len(opening.stations))
    for one in opening.strakes[:low]:
        if one.is_hung:
            moved = moved + _departure(solved, one.label)
    return Fronts(keel, wale, moved, _girth(solved) - solved.rows.girth, left[0])


def is_rough(opening: Opening, solved: estimate.Ledger) -> bool:
    """Return whether the readings wander from station to station more than their doubt explains.

    For neighbouring readings a, b, c of one strake, b at share t of the way, r = b - (1-t)a - tc has variance
    (1 + t^2 + (1-t)^2) u^2 from reading alone; rough is a mean square of more than twice that. Stations need
    not stand evenly. Fewer than five threes say nothing.
    """
    import numpy as np

    rows = solved.rows
    read = (rows.epoch >= 0) & (rows.present > 0) & (rows.free == 0)
    if len(read) < 3:
        return False
    places = np.array(opening.places_mm)
    t = ((places[1:-1] - places[:-2]) / (places[2:] - places[:-2]))[:, None]
    off, u2 = np.where(read, rows.width - rows.aim, 0.0), rows.u_width**2
    # A station's own habit bends every strake alike; it is told by the ledger and is not roughness of the
    # cutting.
    off = off - off.sum(axis=1, keepdims=True) / np.maximum(read.sum(axis=1, keepdims=True), 1)
    left = off[1:-1] - (1 - t) * off[:-2] - t * off[2:]
    explained = u2[1:-1] + (1 - t) ** 2 * u2[:-2] + t**2 * u2[2:]
    threes = read[:-2] & read[1:-1] & read[2:]
    if threes.sum() < 5:
        return False
    # In parts of its doubt, so that no single wide doubt decides.
    return float((left[threes] ** 2 / explained[threes]).mean()) > ROUGH


def step_terms(
    opening: Opening,
    planned: "Array",
    target: "Array",
    alpha: "Array",
    fronts: Fronts,
    number: Mapping[tuple[int, int], int],
    *,
    rough: bool,
) -> "tuple[Any, Array]":
    """Return H and g of the sum of squares: each square |J x - t|^2 weighed by its share of the hull's
    length.

    q_s = (h_before + h_after) / (2 mean h), ends doubled; all terms divided by the mean target squared, so
    that the weights are pure numbers.
    """
    import numpy as np
    from scipy.sparse import coo_matrix, diags

    squares = _Squares(len(number), _shares(opening))
    for (station, strake), column in number.items():
        squares.add(station, [(column, 1.0)], float(target[station, strake]), float(alpha[strake]))
    _steps(squares, planned, fronts, number)
    # With few strakes left a seam can only be moved at the closing strake's cost.
    if rough and planned.shape[1] > FEWEST_FOR_SEAMS and len(planned) > 2:
        _seams(squares, opening, planned, fronts, number)
    scale = max(float(target[target > 0].mean()) if (target > 0).any() else 1.0, 1e-9) ** 2
    jacobian = coo_matrix(
        (squares.values, (squares.rows, squares.columns)), shape=(len(squares.wanted), len(number))
    ).tocsc()
    weight = np.array(squares.weights) / scale
    weighed = diags(weight) @ jacobian
    return (jacobian.T @ weighed).tocsc(), np.asarray(weighed.T @ np.array(squares.wanted))


class _Squares:
    """The squares of the sum as rows of a sparse matrix, gathered one by one."""

    def __init__(self, count: int, shares: "Array") -> None:
        self.count, self.shares = count, shares
        self.rows: list[int] = []
        self.columns: list[int] = []
        self.values: list[float] = []
        self.wanted: list[float] = []
        self.weights: list[float] = []

    def add(self, station: int, terms: list[tuple[int, float]], wanted: float, weight: float) -> None:
        """Add one square: weight x q x (sum of terms - wanted)^2."""
        row = len(self.wanted)
        for column, value in terms:
            self.rows.append(row)
            self.columns.append(column)
            self.values.append(value)
        self.wanted.append(wanted)
        self.weights.append(weight * float(self.shares[station]))


def _steps(
    squares: _Squares, planned: "Array", fronts: Fronts, number: Mapping[tuple[int, int], int]
) -> None:
    stations, strakes = planned.shape
    for station in range(stations):
        here = [strake for strake in range(strakes) if (station, strake) in number]
        for a, b in itertools.pairwise(here):
            terms = [(number[station, b], 1.0), (number[station, a], -1.0)]
            squares.add(station, terms, float(planned[station, b] - planned[station, a]), STEP_WEIGHT)
        if not here:
            continue
        # The step to a hung neighbour is as planned when the new strake departs as far as that one did.
        for front, strake in ((fronts.keel_side, here[0]), (fronts.wale_side, here[-1])):
            if front is not None:
                wanted = float(planned[station, strake] + front[station])
                squares.add(station, [(number[station, strake], 1.0)], wanted, FRONT_WEIGHT)


def _seams(
    squares: _Squares,
    opening: Opening,
    planned: "Array",
    fronts: Fronts,
    number: Mapping[tuple[int, int], int],
) -> None:
    """Add, for each seam to come, how far it stands off a straight line between its neighbours along the
    hull.

    E_j = keel front's departure + sum of (w - planned) up to seam j, less the share of the girth up to there
    that a corrected girth explains; the square is of 2 [E - (1-t) E_before - t E_after], which is h^2 times
    the second difference where stations stand evenly, and no larger where two of them stand close.
    """
    import numpy as np

    places = np.array(opening.places_mm)
    stations, strakes = planned.shape
    names = [one.name for one in opening.stations]
    first = opening.strakes.index(fronts.first)
    hung = np.array([sum(one.planned_mm.get(name, 0.0) for one in opening.strakes[:first]) for name in names])
    total = np.array([sum(one.planned_mm.get(name, 0.0) for one in opening.strakes) for name in names])
    for station in range(1, stations - 1):
        t = (places[station] - places[station - 1]) / (places[station + 1] - places[station - 1])
        line = {station - 1: -2 * (1 - t), station: 2.0, station + 1: -2 * t}
        for seam in range(1, strakes):
            if any((near, strake) not in number for near in line for strake in range(seam)):
                continue
            terms, wanted = [], 0.0
            for near, factor in line.items():
                terms += [(number[near, strake], factor) for strake in range(seam)]
                planned_to = float(planned[near, :seam].sum())
                share = (float(hung[near]) + planned_to) / max(float(total[near]), 1e-9)
                moved = float(fronts.seam_moved[near]) - share * float(fronts.girth_moved[near])
                wanted += factor * (planned_to - moved)
            squares.add(station, terms, wanted, SEAM_WEIGHT)


def _shares(opening: Opening) -> "Array":
    import numpy as np

    places = np.array(opening.places_mm)
    if len(places) < 2:
        return np.ones(1)
    gaps = np.diff(places)
    before, after = np.concatenate([gaps[:1], gaps]), np.concatenate([gaps, gaps[-1:]])
    return np.asarray((before + after) / (2 * gaps.mean()))


def _departure(solved: estimate.Ledger, label: str) -> "Array":
    """Return how far a cut strake is off its plan at every station: a - judged by = (aim - judged) + habit +
    cut."""
    import numpy as np

    rows = solved.rows
    column = [one.label for one in rows.strakes].index(label)
    strake = rows.strakes[column]
    count = len(rows.girth)
    bound = rows.present[:, column] * (1 - rows.free[:, column])
    shared = np.zeros((count, len(solved.shared)))
    shared[:, solved.column("mu")] = bound
    if strake.run in ("wale", "keel"):
        shared[:, solved.column(strake.run)] = bound
    shared[:, solved.column("cuts") + column] = bound
    cuts = np.zeros((count, len(rows.strakes)))
    cuts[:, column] = rows.present[:, column]
    judged = np.array([strake.judged_by_mm(one.name) or 0.0 for one in solved.opening.stations])
    const = np.where(rows.present[:, column] > 0, rows.aim[:, column] - judged, 0.0)
    none = np.zeros_like(cuts)
    return solved.answer(estimate.Question(const, shared, 0.0, bound, cuts, none)).mean


def _girth(solved: estimate.Ledger) -> "Array":
    import numpy as np

    count = len(solved.rows.girth)
    none = np.zeros((count, len(solved.rows.strakes)))
    shared = np.zeros((count, len(solved.shared)))
    return solved.answer(estimate.Question(np.zeros(count), shared, 1.0, np.zeros(count), none, none)).mean
