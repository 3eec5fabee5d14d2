"""One ledger an opening: every reading a row, every unknown weighed by all of them together.

Shared by all stations: the zero z of each instrument epoch and its creep d from strake to strake, the mean
seam gamma, the common habit mu and that of each run nu, and b_i, the common error of cut i. Own to a
station: its girth G, its local habit eta, the cutting error c_i there and the scatter s_i of its seams.

    width taken     a = aim + mu + nu_run + b_i + eta + c_i
    width read      a + z + d_2 + .. + d_j          (strake j of that epoch)
    gap read        G - sum (a + gamma + s)  [+ z]
    edge read       sum (a + gamma + s)      [+ z]
    zero check      z

Given the shared unknowns the stations are independent, so each is eliminated alone and only the shared ones
are solved together: K = Hl Pl Hl' + R, T = K^-1 Hv, A = Pv^-1 + zero rows + sum Hv' T, C = A^-1.
All unknowns are Gaussian and all rows linear; lengths in mm.
"""

import math
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from planking.ledger_rows import U_UNKNOWN_MM, Rows, rows_of
from planking.ledger_tables import Habits, Tables, doubts_of, seam_marks, steps_of, tables_of
from planking.opening import Opening
from planking.plain_sum import U_GIRTH_PLANNED_MM
from planking.scatter import Scatter, scatter_of

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

U_PRIOR_MM = 1e-6
SLIP = 3.5
"""A reading further than this from what all others say of it is a slip (chosen by simulation)."""


@dataclass(frozen=True)
class Known:
    """What is believed of one length, and its standard doubt."""

    mean_mm: float
    u_mm: float


@dataclass(frozen=True)
class Question:
    """Lengths asked of the ledger, one a station: const + shared . v + girth G + local eta + cuts . c +
    seams . s."""

    const: "Array"
    shared: "Array"
    girth: float
    local: "Array"
    cuts: "Array"
    seams: "Array"


@dataclass(frozen=True)
class Answer:
    """What the ledger says of one question at every station, with the covariance between stations."""

    mean: "Array"
    covariance: "Array"

    @property
    def u(self) -> "Array":
        """Return the standard doubts."""
        import numpy as np

        return np.sqrt(np.maximum(np.diagonal(self.covariance), 0.0))


@dataclass(frozen=True)
class Ledger:
    """A solved ledger. `shared` and `covariance` are the shared unknowns after all rows were weighed."""

    opening: Opening
    rows: Rows
    scatter: Scatter
    habits: Habits
    tables: Tables
    residual: "Array"
    weighed: "Array"
    before: "Array"
    shared: "Array"
    covariance: "Array"
    slips: tuple[tuple[str, str], ...] = field(default=())
    girth_let_go: tuple[str, ...] = field(default=())
    """The stations whose planned girth the gaps contradict together, and which therefore counts for little."""
    girth_slips: tuple[str, ...] = field(default=())
    """The stations whose girth as read stands far from its plan and against the gap, and counts for nothing."""

    def answer(self, question: Question) -> Answer:
        """Return the answer at every station: w = hl Pl Hl' K^-1, d = hv - w Hv, var = own + d C d'."""
        import numpy as np

        tables, step = self.tables, self.shared - self.before
        asked = _own_part(question)
        carried = np.einsum("sl,sml->sm", asked * tables.prior, tables.own)
        w = np.einsum("sm,smn->sn", carried, tables.inverse)
        d = question.shared - np.einsum("sm,smv->sv", w, tables.shared)
        mean = question.const + question.shared @ self.before + question.girth * self.rows.girth
        mean = mean + np.einsum("sm,sm->s", w, self.residual) + d @ step
        own = (asked**2 * tables.prior).sum(axis=1) - (w * carried).sum(axis=1)
        return Answer(mean, d @ self.covariance @ d.T + np.diag(own))

    def zero(self, epoch: str) -> Known:
        """Return what the whole log says of the zero of an instrument epoch."""
        return self._known([one.name for one in self.opening.epochs].index(epoch))

    @property
    def seam(self) -> Known:
        """Return what the whole log says of the mean seam."""
        return self._known(len(self.opening.epochs))

    def habit(self, run: str) -> Known:
        """Return the habit of a run: how much wider than aimed at its strakes come out."""
        import numpy as np

        h = np.zeros(len(self.shared))
        h[self.column("mu")] = 1.0
        if run in ("wale", "keel"):
            h[self.column(run)] = 1.0
        return Known(float(h @ self.shared), float(h @ self.covariance @ h) ** 0.5)

    def column(self, name: str) -> int:
        """Return the place of a shared unknown: seam, mu, wale, keel, or the first of the cuts."""
        return len(self.opening.epochs) + ("seam", "mu", "wale", "keel", "cuts").index(name)

    def _known(self, index: int) -> Known:
        return Known(float(self.shared[index]), max(0.0, float(self.covariance[index, index])) ** 0.5)


def ledger(opening: Opening, habits: Habits | None = None) -> Ledger:
    """Return the ledger of an opening, slips found and taken less seriously.

    A reading that stands more than 3.5 of its doubts from what all others say is kept with ten times its
    doubt, one at a time, and named in `slips`; it is never dropped. A girth that nobody read is no reading:
    where the gaps of most stations stand off it on one side, it is let go and the gaps are believed. A girth
    that was read far from its plan, and without which all readings there agree, is taken as planned.

    >>> from planking.opening import GapReading, Station, Strake
    >>> strakes = tuple(Strake(label, "wale", {"D": 5.0}) for label in "123")
    >>> one = Opening("port", (Station("D"),), strakes, gaps=(GapReading("D", 14.9, frozenset(), 0.05),))
    >>> round(float(room(ledger(one)).mean[0]), 2)
    14.78
    """
    import numpy as np

    rows = rows_of(opening)
    found: list[tuple[str, str]] = []
    solved = solve(opening, rows, habits)
    let_go = _girth_to_let_go(solved)
    if let_go.any():
        rows = replace(rows, u_girth=np.where(let_go, U_UNKNOWN_MM / 100, rows.u_girth))
        solved = solve(opening, rows, habits)
    slipped: list[int] = []
    for at in _girths_far_from_plan(opening):
        trusting = solve(opening, _girth_as_planned(solved.rows, opening, at), habits)
        if _stands_off(solved, at) and not _stands_off(trusting, at):
            solved = trusting
            slipped.append(at)
    for _ in range(5):
        slip = worst_slip(solved)
        if slip is None:
            break
        if let_go[slip[0]]:
            slip = slip[0], _first_of_gap_read_twice(solved, *slip)
        rows = _taken_less_seriously(solved.rows, *slip)
        found.append((_row_name(solved.rows, slip[1]), opening.stations[slip[0]].name))
        solved = solve(opening, rows, habits)
    names = tuple(one.name for one, gone in zip(opening.stations, let_go, strict=True) if gone)
    doubted = tuple(opening.stations[at].name for at in slipped)
    return replace(solved, slips=tuple(found), girth_let_go=names, girth_slips=doubted)


def _girths_far_from_plan(opening: Opening) -> list[int]:
    """Return the stations, the farthest first, whose girth as read stands more than 3.5 of both doubts off its plan."""
    far: dict[int, float] = {}
    for at, station in enumerate(opening.stations):
        reading, planned = opening.girth_at.get(station.name), (opening.girth_planned_mm or {}).get(station.name)
        if reading is not None and planned is not None:
            off = abs(reading.girth_mm - planned) / math.hypot(reading.u_mm, U_GIRTH_PLANNED_MM)
            far |= {at: off} if off > SLIP else {}
    return sorted(far, key=lambda at: -far[at])


def _girth_as_planned(rows: Rows, opening: Opening, at: int) -> Rows:
    girth, u_girth = rows.girth.copy(), rows.u_girth.copy()
    girth[at] = (opening.girth_planned_mm or {})[opening.stations[at].name]
    u_girth[at] = U_GIRTH_PLANNED_MM
    return replace(rows, girth=girth, u_girth=u_girth)


def _stands_off(solved: Ledger, at: int) -> bool:
    """Say whether a reading at a station where a gap was read stands more than 3.5 of its doubts from all others."""
    import numpy as np

    read = doubts_of(solved.rows)[at] < U_UNKNOWN_MM / 10
    has_gap = any(one.sign < 0 and one.u[at] < U_UNKNOWN_MM / 10 for one in solved.rows.taken)
    return has_gap and bool((np.abs(slip_scores(solved)[at, read]) > SLIP).any())


def _first_of_gap_read_twice(solved: Ledger, station: int, row: int) -> int:
    """Return the earlier row of a gap that was read again and came out otherwise, where nothing else is known: who
    reads a second time doubts the first. Any other row is returned as it is.
    """
    count, taken = len(solved.rows.strakes), solved.rows.taken
    for earlier in range(row - count):
        same = (taken[earlier].strakes[station] == taken[row - count].strakes[station]).all()
        if same and taken[earlier].sign < 0 and taken[earlier].u[station] < U_UNKNOWN_MM / 10:
            return count + earlier
    return row


def _girth_to_let_go(solved: Ledger) -> "NDArray[np.bool_]":
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


def solve(
    opening: Opening, rows: Rows, habits: Habits | None = None, scatter: Scatter | None = None
) -> Ledger:
    """Return the ledger of the rows as they stand, no slip sought."""
    import numpy as np

    habits = habits or Habits()
    scatter = scatter or scatter_of(opening, rows)
    before, variance = _shared_before(opening, rows, habits, scatter)
    tables = tables_of(opening, rows, habits, scatter)
    read = doubts_of(rows) < U_UNKNOWN_MM / 10
    residual = np.where(read, _residual(rows) - tables.shared @ before, 0.0)
    width = tables.through.shape[2]
    information = tables.shared.reshape(-1, width).T @ tables.through.reshape(-1, width) + np.diag(
        1 / variance
    )
    right = np.einsum("smv,sm->v", tables.through, residual)
    _weigh_zero_checks(opening, before, information, right)
    weighed = np.einsum("sm,smn->sn", residual, tables.inverse)
    covariance = np.linalg.inv(information)
    covariance = (covariance + covariance.T) / 2
    shared = before + covariance @ right
    return Ledger(opening, rows, scatter, habits, tables, residual, weighed, before, shared, covariance)


def room_question(solved: Ledger) -> Question:
    """Return the question: the room for the widths of the strakes not yet cut, all seams taken off."""
    import numpy as np

    rows = solved.rows
    count = len(rows.girth)
    taken = -rows.present
    shared = np.zeros((count, len(solved.shared)))
    shared[:, solved.column("seam")] = -rows.seams_in_all
    bound = taken * (1 - rows.free)
    shared[:, solved.column("mu")] = bound.sum(axis=1)
    for run in ("wale", "keel"):
        of_run = np.array([one.run == run for one in rows.strakes], dtype=float)
        shared[:, solved.column(run)] = bound @ of_run
    first = solved.column("cuts")
    shared[:, first : first + len(rows.strakes)] = bound
    const = (taken * rows.aim).sum(axis=1)
    return Question(
        const, shared, 1.0, bound.sum(axis=1), taken, -seam_marks(rows.present * rows.hung, rows.seams_hung)
    )


def room(solved: Ledger) -> Answer:
    """Return the room for the widths of the strakes not yet cut, at every station, all seams taken off.

    R = G - sum of hung and cut (a) - all seams x gamma - their scatter; the seams to come add r s^2.
    """
    import numpy as np

    asked = room_question(solved)
    found = solved.answer(asked)
    # Seams that belong to no hung strake: those to come, and the second one of a strake that closed a gap.
    to_go = solved.rows.seams_in_all + asked.seams.sum(axis=1)
    scatter = np.diag(to_go * solved.opening.seam_scatter_mm**2)
    return Answer(found.mean, found.covariance + scatter)


def foretold(solved: Ledger, rows: "NDArray[np.int64]") -> Answer:
    """Return what the ledger foretells of one gap or edge reading at each station: the row `rows[s]` of its
    rows."""
    import numpy as np

    strakes, each = len(solved.rows.strakes), np.arange(len(solved.rows.girth))
    shared, own = solved.tables.shared[each, strakes + rows], solved.tables.own[each, strakes + rows]
    taken = [(solved.rows.taken[row], at) for at, row in enumerate(rows)]
    const = np.array([one.sign * (one.strakes[at] * solved.rows.aim[at]).sum() for one, at in taken])
    cuts, seams = own[:, 2 : 2 + strakes], own[:, 2 + strakes :]
    # A gap hangs on the girth, an edge does not; all rows asked are of one kind.
    return solved.answer(Question(const, shared, float(own[:, 0].max()), own[:, 1], cuts, seams))


def gap(solved: Ledger) -> Answer:
    """Return the gap between the free edges as it is now, at every station, the seams to come not taken off.

    R = G - sum of hung (a + gamma + s). Where a strake is cut but not hung, the gap is that beside it.
    """
    asked = room_question(solved)
    shared = asked.shared.copy()
    shared[:, solved.column("seam")] = -solved.rows.seams_hung
    return solved.answer(replace(asked, shared=shared))


def habit_here(solved: Ledger, run: str) -> Answer:
    """Return the habit of a run at every station, the local part with it: what is taken off the next aim."""
    import numpy as np

    count, strakes = len(solved.rows.girth), len(solved.rows.strakes)
    shared = np.zeros((count, len(solved.shared)))
    shared[:, solved.column("mu")] = 1.0
    if run in ("wale", "keel"):
        shared[:, solved.column(run)] = 1.0
    none = np.zeros((count, strakes))
    return solved.answer(Question(np.zeros(count), shared, 0.0, np.ones(count), none, none))


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


def disagreement(solved: Ledger) -> tuple[float, int]:
    """Return the chi-square of all rows against one another and how many rows were read.

    chi^2 = sum y' K^-1 y - dv' A dv, with as many degrees of freedom as rows.
    """
    import numpy as np

    step = solved.shared - solved.before
    total = float((solved.residual * solved.weighed).sum())
    total -= float(step @ np.linalg.solve(solved.covariance, step))
    return total, int((doubts_of(solved.rows) < U_UNKNOWN_MM / 10).sum())


def _row_name(rows: Rows, row: int) -> str:
    return rows.strakes[row].label if row < len(rows.strakes) else "gap"


def _taken_less_seriously(rows: Rows, station: int, row: int) -> Rows:
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


def _own_part(question: Question) -> "Array":
    import numpy as np

    girth = np.full((len(question.const), 1), question.girth)
    return np.hstack([girth, question.local[:, None], question.cuts, question.seams])


def _residual(rows: Rows) -> "Array":
    """Return reading less what the aims and the girth alone would make it; nought where not read."""
    import numpy as np

    read = rows.u_width < U_UNKNOWN_MM / 10
    columns = [np.where(read, rows.width - rows.aim, 0.0)]
    for one in rows.taken:
        girth = rows.girth if one.sign < 0 else 0.0
        apart = one.value - girth - one.sign * (one.strakes * rows.aim).sum(axis=1)
        columns.append(np.where(one.u < U_UNKNOWN_MM / 10, apart, 0.0)[:, None])
    return np.hstack(columns)


def _shared_before(opening: Opening, rows: Rows, habits: Habits, scatter: Scatter) -> "tuple[Array, Array]":
    """Return the shared unknowns and their variances before any row is weighed."""
    import numpy as np

    steps = len(steps_of(opening, rows))
    mean = [one.zero_offset_mm for one in opening.epochs] + [opening.seam_mm, 0.0, 0.0, 0.0]
    sd = [one.u_zero_mm for one in opening.epochs]
    sd += [opening.u_seam_mm, habits.common_mm, habits.run_mm, habits.run_mm]
    sd += [scatter.cut_mm2**0.5] * len(rows.strakes) + [habits.zero_step_mm] * steps
    mean += [0.0] * (len(rows.strakes) + steps)
    return np.array(mean), np.maximum(np.array(sd), U_PRIOR_MM) ** 2


def _weigh_zero_checks(opening: Opening, before: "Array", information: "Array", right: "Array") -> None:
    names = [one.name for one in opening.epochs]
    for check in opening.zero_checks:
        at = names.index(check.epoch)
        weight = 1 / max(check.u_mm, U_PRIOR_MM) ** 2
        information[at, at] += weight
        right[at] += weight * (check.offset_mm - before[at])
