"""How each station's rows depend on what is unknown: its own unknowns, and those shared by all stations.

Stations whose rows have one shape and one set of doubts share one elimination. Used by estimate.py
only.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from planking.ledger_rows import U_FREE_WIDTH_MM, Rows
from planking.opening import Opening
from planking.scatter import Scatter

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

Steps = Mapping[tuple[int, int], int]


@dataclass(frozen=True)
class Habits:
    """How far a hand may be off before anything is read: standard deviations in mm."""

    common_mm: float = 0.04
    run_mm: float = 0.03
    station_mm: float = 0.02
    zero_step_mm: float = 0.01


@dataclass(frozen=True)
class Group:
    """Stations whose rows have one shape and one set of doubts: they share one elimination."""

    stations: "NDArray[np.int64]"
    own: "Array"
    shared: "Array"
    prior: "Array"
    inverse: "Array"
    through: "Array"


def groups_of(opening: Opening, rows: Rows, habits: Habits, scatter: Scatter) -> tuple[Group, ...]:
    keys = _keys(rows)
    shapes: dict[bytes, list[int]] = {}
    for station, key in enumerate(keys):
        shapes.setdefault(key, []).append(station)
    steps = steps_of(opening, rows)
    return tuple(_group(opening, rows, habits, scatter, steps, stations) for stations in shapes.values())


def _keys(rows: Rows) -> Iterable[bytes]:
    import numpy as np

    parts = [rows.present, rows.free, rows.u_width, rows.epoch.astype(float), rows.u_girth[:, None]]
    for one in rows.taken:
        parts += [one.u[:, None], one.epoch[:, None].astype(float), one.seams[:, None], one.strakes]
    table = np.ascontiguousarray(np.hstack(parts))
    return [row.tobytes() for row in table]


def _group(
    opening: Opening,
    rows: Rows,
    habits: Habits,
    scatter: Scatter,
    steps: Steps,
    stations: list[int],
) -> Group:
    import numpy as np

    at = stations[0]
    own, shared = _own_rows(rows, at), _shared_rows(opening, rows, steps, at)
    cut = np.where(rows.free[at] > 0, U_FREE_WIDTH_MM**2, scatter.station_mm2)
    seam = np.full(len(rows.strakes), opening.seam_scatter_mm**2)
    prior = np.concatenate([[rows.u_girth[at] ** 2, habits.station_mm**2], cut, seam])
    noise = doubts_of(rows)[at] ** 2
    inverse = np.linalg.inv((own * prior) @ own.T + np.diag(noise))
    inverse = (inverse + inverse.T) / 2
    return Group(np.array(stations), own, shared, prior, inverse, inverse @ shared)


def _own_rows(rows: Rows, at: int) -> "Array":
    import numpy as np

    count = len(rows.strakes)
    own = np.zeros((count + len(rows.taken), 2 + 2 * count))
    bound = rows.present[at] * (1 - rows.free[at])
    own[:count, 1] = bound
    own[:count, 2 : 2 + count] = np.diag(rows.present[at])
    for index, one in enumerate(rows.taken):
        over = one.strakes[at]
        own[count + index, 0] = 1.0 if one.sign < 0 else 0.0
        own[count + index, 1] = one.sign * (over * bound).sum()
        own[count + index, 2 : 2 + count] = one.sign * over
        own[count + index, 2 + count :] = one.sign * _marks(over, one.seams[at])
    return own


def _shared_rows(opening: Opening, rows: Rows, steps: Steps, at: int) -> "Array":
    import numpy as np

    count, epochs = len(rows.strakes), len(opening.epochs)
    first = epochs + 4
    shared = np.zeros((count + len(rows.taken), first + count + len(steps)))
    bound = rows.present[at] * (1 - rows.free[at])
    runs = np.array(
        [[one.run == run for one in rows.strakes] for run in ("wale", "keel")], dtype=float
    ).reshape(2, count)
    a = np.zeros((count, first + count))
    a[:, epochs + 1] = bound
    a[:, epochs + 2 : epochs + 4] = (bound * runs).T
    a[:, first:] = np.diag(bound)
    shared[:count, : first + count] = a
    creep = _creep(rows, steps, epochs, at)
    read = np.nonzero(rows.epoch[at] >= 0)[0]
    shared[read, rows.epoch[at, read]] = 1.0
    for column in read:
        shared[column, first + count :] = creep[rows.epoch[at, column], column]
    for index, one in enumerate(rows.taken):
        row = shared[count + index]
        row[: first + count] = one.sign * (one.strakes[at] @ a)
        row[epochs] = one.sign * one.seams[at]
        if one.epoch[at] >= 0:
            row[one.epoch[at]] += 1.0
    return shared


def _creep(rows: Rows, steps: Steps, epochs: int, at: int) -> "Array":
    """Return which creeps of its zero stand in a reading: all of that epoch up to the strake."""
    import numpy as np

    creep = np.zeros((epochs, len(rows.strakes), len(steps)))
    for (epoch, column), place in steps.items():
        creep[epoch, column:, place] = 1.0
    return creep


def _marks(over: "Array", seams: float) -> "Array":
    """Return which strakes' seams a reading spans: all of them, or all but the first where an edge lies
    open."""
    import numpy as np

    marks = over.copy()
    extra = int(over.sum() - seams)
    if extra > 0:
        marks[np.nonzero(over)[0][:extra]] = 0.0
    return marks


def seam_marks(rows: Rows, hung: "Array", seams: "Array") -> "Array":
    import numpy as np

    over = rows.present * hung
    return np.array([_marks(over[at], seams[at]) for at in range(len(seams))]).reshape(over.shape)


def steps_of(opening: Opening, rows: Rows) -> Steps:
    """Return the place of each creep of a zero: (epoch, strake) -> column among the creeps; the first strake
    has none."""
    places: dict[tuple[int, int], int] = {}
    for epoch in range(len(opening.epochs)):
        read = [column for column in range(len(rows.strakes)) if (rows.epoch[:, column] == epoch).any()]
        for column in read[1:]:
            places[epoch, column] = len(places)
    return places


def doubts_of(rows: Rows) -> "Array":
    import numpy as np

    return np.hstack([rows.u_width, *(one.u[:, None] for one in rows.taken)])
