"""Readings that stand out from all the others, and girths that gaps contradict: found here, let go by the estimate."""

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from planking.ledger_rows import U_UNKNOWN_MM, Rows
from planking.ledger_solved import Ledger
from planking.ledger_tables import doubts_of
from planking.opening import Opening
from planking.plain_sum import U_GIRTH_PLANNED_MM

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

SLIP = 3.5
"""A reading further than this from what all others say of it is a slip (chosen by simulation)."""


def slip_scores(solved: Ledger) -> "Array":
    """Return how many doubts each reading stands from what all other readings say of it, signed; 0 where not
    read.

    t = [K^-1 (y - Hv dv)]_i / sqrt([K^-1 - T C T']_ii), a row a station.
    """
    import numpy as np

    top = solved.weighed - solved.tables.through @ (solved.shared - solved.before)
    read = doubts_of(solved.rows) < U_UNKNOWN_MM / 10
    return np.where(read, top, 0.0) / np.sqrt(np.maximum(slip_weights(solved), 1e-18))


def slip_weights(solved: Ledger) -> "Array":
    """Return 1 / u^2 of each reading against all others: the diagonal of K^-1 - T C T', a row a station."""
    import numpy as np

    through = solved.tables.through
    plain = np.diagonal(solved.tables.inverse, axis1=1, axis2=2)
    return np.asarray(plain - ((through @ solved.covariance) * through).sum(axis=2))


def worst_slip(solved: Ledger, limit: float = SLIP) -> tuple[int, int] | None:
    """Return the station and row of the reading that stands furthest off, if beyond the limit."""
    import numpy as np

    scores = np.abs(slip_scores(solved))
    if not scores.size or scores.max() <= limit:
        return None
    at = np.unravel_index(int(scores.argmax()), scores.shape)
    return int(at[0]), int(at[1])


def row_name(rows: Rows, row: int) -> str:
    """Return what a row of the ledger is called: the label of its strake, or that it is a gap."""
    return rows.strakes[row].label if row < len(rows.strakes) else "gap"


def taken_less_seriously(rows: Rows, station: int, row: int) -> Rows:
    """Return the rows with ten times the doubt on one reading: it is kept, and counts little."""
    count = len(rows.strakes)
    if row < count:
        u = rows.u_width.copy()
        u[station, row] *= 10
        return replace(rows, u_width=u)
    taken = list(rows.taken)
    one = taken[row - count]
    u = one.u.copy()
    u[station] *= 10
    taken[row - count] = replace(one, u=u)
    return replace(rows, taken=tuple(taken))


def first_of_gap_read_twice(solved: Ledger, station: int, row: int) -> int:
    """Return the earlier row of a gap that was read again and came out otherwise, where nothing else is known: who
    reads a second time doubts the first. Any other row is returned as it is.
    """
    count, taken = len(solved.rows.strakes), solved.rows.taken
    for earlier in range(row - count):
        same = (taken[earlier].strakes[station] == taken[row - count].strakes[station]).all()
        if same and taken[earlier].sign < 0 and taken[earlier].u[station] < U_UNKNOWN_MM / 10:
            return count + earlier
    return row


def girth_to_let_go(solved: Ledger) -> "NDArray[np.bool_]":
    """Return at which stations the planned girth is let go: at all where none was read, if the gaps of more than
    half of those with a gap stand off it on one side; one alone is a slip of its own. Source: derived here.
    """
    import numpy as np

    opening, count = solved.opening, len(solved.rows.strakes)
    unread = np.array([one.name not in opening.girth_at for one in opening.stations])
    gaps = [count + row for row, one in enumerate(solved.rows.taken) if one.sign < 0]
    if not gaps or not opening.girth_planned_mm or not unread.any():
        return np.zeros(len(unread), dtype=bool)
    scores = slip_scores(solved)[:, gaps][unread]
    read = (doubts_of(solved.rows)[:, gaps][unread] < U_UNKNOWN_MM / 10).any(axis=1)
    off = max(int((scores.min(axis=1) < -SLIP).sum()), int((scores.max(axis=1) > SLIP).sum()))
    return unread if 2 * off > int(read.sum()) else np.zeros(len(unread), dtype=bool)


def girths_far_from_plan(opening: Opening) -> list[int]:
    """Return the stations, the farthest first, whose girth as read stands more than 3.5 of both doubts off its plan."""
    far: dict[int, float] = {}
    for at, station in enumerate(opening.stations):
        reading, planned = opening.girth_at.get(station.name), (opening.girth_planned_mm or {}).get(station.name)
        if reading is not None and planned is not None:
            off = abs(reading.girth_mm - planned) / math.hypot(reading.u_mm, U_GIRTH_PLANNED_MM)
            far |= {at: off} if off > SLIP else {}
    return sorted(far, key=lambda at: -far[at])


def girth_as_planned(rows: Rows, opening: Opening, at: int) -> Rows:
    """Return the rows with the planned girth, and its doubt, in place of the one read at a station."""
    girth, u_girth = rows.girth.copy(), rows.u_girth.copy()
    girth[at] = (opening.girth_planned_mm or {})[opening.stations[at].name]
    u_girth[at] = U_GIRTH_PLANNED_MM
    return replace(rows, girth=girth, u_girth=u_girth)


def stands_off(solved: Ledger, at: int) -> bool:
    """Say whether a reading at a station where a gap was read stands more than 3.5 of its doubts from all others."""
    import numpy as np

    read = doubts_of(solved.rows)[at] < U_UNKNOWN_MM / 10
    has_gap = any(one.sign < 0 and one.u[at] < U_UNKNOWN_MM / 10 for one in solved.rows.taken)
    return has_gap and bool((np.abs(slip_scores(solved)[at, read]) > SLIP).any())
