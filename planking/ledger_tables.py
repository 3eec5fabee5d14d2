"""How each station's rows depend on what is unknown: its own unknowns, and those shared by all stations.

Every table has the stations first: S stations, m rows, then unknowns. What does not reach a station, or was
not read, stands as nought or weighs nothing, so that all stations are reckoned at once. Used by ledger_solved.py.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from planking.ledger_rows import U_FREE_WIDTH_MM, Rows, Taken
from planking.opening import Opening
from planking.scatter import Scatter

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

Steps = Mapping[tuple[int, int], int]


@dataclass(frozen=True)
class Habits:
    """How far a hand may be off before anything is read: standard deviations in mm (reasoned defaults)."""

    common_mm: float = 0.04
    run_mm: float = 0.03
    station_mm: float = 0.02
    zero_step_mm: float = 0.01


@dataclass(frozen=True)
class Tables:
    """The rows against the unknowns, and each station's elimination: K^-1 and T = K^-1 Hv."""

    own: "Array"
    shared: "Array"
    prior: "Array"
    inverse: "Array"
    through: "Array"


def tables_of(opening: Opening, rows: Rows, habits: Habits, scatter: Scatter) -> Tables:
    """Return the tables of an opening: K = Hl Pl Hl' + R a station, inverted once for each that differs."""
    import numpy as np

    own, shared = _own(rows), _shared(opening, rows)
    count, strakes = rows.aim.shape
    prior = np.empty((count, 2 + 2 * strakes))
    prior[:, 0], prior[:, 1] = rows.u_girth**2, habits.station_mm**2
    prior[:, 2 : 2 + strakes] = np.where(rows.free > 0, U_FREE_WIDTH_MM**2, scatter.station_mm2)
    prior[:, 2 + strakes :] = opening.seam_scatter_mm**2
    k = (own * prior[:, None, :]) @ own.transpose(0, 2, 1)
    diagonal = np.arange(k.shape[1])
    k[:, diagonal, diagonal] += doubts_of(rows) ** 2
    inverse = _inverses(k)
    return Tables(own, shared, prior, inverse, inverse @ shared)


def steps_of(opening: Opening, rows: Rows) -> Steps:
    """Return the place of each creep of a zero: (epoch, strake) -> column; an epoch's first strake has
    none."""
    places: dict[tuple[int, int], int] = {}
    for epoch in range(len(opening.epochs)):
        for column in (rows.epoch == epoch).any(axis=0).nonzero()[0][1:]:
            places[epoch, int(column)] = len(places)
    return places


def doubts_of(rows: Rows) -> "Array":
    """Return the doubt of every row, a station a line: widths in the order of cutting, then gaps and
    edges."""
    import numpy as np

    return np.hstack([rows.u_width, *(one.u[:, None] for one in rows.taken)])


def seam_marks(over: "Array", seams: "Array") -> "Array":
    """Return which strakes' seams are spanned: all of them, or all but the first where an edge lies open."""
    import numpy as np

    extra = np.maximum(over.sum(axis=1) - seams, 0.0)
    return np.where(np.cumsum(over, axis=1) > extra[:, None], over, 0.0)


def _inverses(k: "Array") -> "Array":
    """Return the inverses, one for each set of stations whose matrices are the same."""
    import numpy as np

    places: dict[bytes, int] = {}
    which = np.array([places.setdefault(one.tobytes(), len(places)) for one in k], dtype=np.int64)
    first = np.unique(which, return_index=True)[1]
    found = np.linalg.inv(k[first])
    return np.asarray(((found + found.transpose(0, 2, 1)) / 2)[which])


def _bound(rows: Rows) -> "Array":
    """Return which strakes bear the hand's habit: those that reach the station and were made to a plan."""
    return rows.present * (1 - rows.free)


def _own(rows: Rows) -> "Array":
    import numpy as np

    count, strakes = rows.aim.shape
    own = np.zeros((count, strakes + len(rows.taken), 2 + 2 * strakes))
    bound, each = _bound(rows), np.arange(strakes)
    own[:, each, 1] = bound
    own[:, each, 2 + each] = rows.present
    for index, one in enumerate(rows.taken):
        row = own[:, strakes + index]
        row[:, 0] = 1.0 if one.sign < 0 else 0.0
        row[:, 1] = one.sign * (one.strakes * bound).sum(axis=1)
        row[:, 2 : 2 + strakes] = one.sign * one.strakes
        row[:, 2 + strakes :] = one.sign * seam_marks(one.strakes, one.seams)
    return own


def _shared(opening: Opening, rows: Rows) -> "Array":
    import numpy as np

    count, strakes = rows.aim.shape
    epochs, steps = len(opening.epochs), steps_of(opening, rows)
    first, each = epochs + 4, np.arange(strakes)
    shared = np.zeros((count, strakes + len(rows.taken), first + strakes + len(steps)))
    bound = _bound(rows)
    shared[:, each, epochs + 1] = bound
    for place, run in ((epochs + 2, "wale"), (epochs + 3, "keel")):
        shared[:, each, place] = bound * np.array([one.run == run for one in rows.strakes], dtype=float)
    shared[:, each, first + each] = bound
    taken = shared[:, :strakes, : first + strakes].copy()
    _add_zeros(shared, rows, steps, first + strakes)
    for index, one in enumerate(rows.taken):
        _add_taken(shared[:, strakes + index], one, taken, epochs)
    return shared


def _add_zeros(shared: "Array", rows: Rows, steps: Steps, creeps: int) -> None:
    """Add the zero to each width read, and the creeps of its epoch up to that strake."""
    import numpy as np

    station, strake = np.nonzero(rows.epoch >= 0)
    shared[station, strake, rows.epoch[station, strake]] = 1.0
    for (epoch, column), place in steps.items():
        later = (rows.epoch[:, column:] == epoch).astype(float)
        shared[:, column : rows.aim.shape[1], creeps + place] = later


def _add_taken(row: "Array", one: Taken, taken: "Array", epochs: int) -> None:
    """Fill a gap's or an edge's row: what its strakes take, its seams, and the zero where it has one."""
    import numpy as np

    row[:, : taken.shape[2]] = one.sign * np.einsum("sk,skv->sv", one.strakes, taken)
    row[:, epochs] = one.sign * one.seams
    read = np.nonzero(one.epoch >= 0)[0]
    row[read, one.epoch[read]] += 1.0
