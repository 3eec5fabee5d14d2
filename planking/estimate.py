"""What all readings of an opening say together: the ledger with its slips found, and the questions it answers.

The model, and how it is solved, stands in `ledger_solved`; what counts as a slip in `slips`.
"""

from dataclasses import replace
from typing import TYPE_CHECKING

from planking.ledger_rows import U_UNKNOWN_MM, rows_of
from planking.ledger_solved import Answer, Ledger, Question, solve
from planking.ledger_tables import Habits, doubts_of, seam_marks
from planking.opening import Opening
from planking.slips import (
    first_of_gap_read_twice,
    girth_as_planned,
    girth_to_let_go,
    girths_far_from_plan,
    row_name,
    stands_off,
    taken_less_seriously,
    worst_slip,
)

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = [
    "Answer", "Ledger", "Question", "disagreement", "foretold", "gap", "habit_here", "ledger", "room", "room_question",
    "solve",
]  # fmt: skip


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
    let_go = girth_to_let_go(solved)
    if let_go.any():
        rows = replace(rows, u_girth=np.where(let_go, U_UNKNOWN_MM / 100, rows.u_girth))
        solved = solve(opening, rows, habits)
    slipped: list[int] = []
    for at in girths_far_from_plan(opening):
        if not stands_off(solved, at):
            continue
        trusting = solve(opening, girth_as_planned(solved.rows, opening, at), habits)
        if not stands_off(trusting, at):
            solved = trusting
            slipped.append(at)
    for _ in range(5):
        slip = worst_slip(solved)
        if slip is None:
            break
        if let_go[slip[0]]:
            slip = slip[0], first_of_gap_read_twice(solved, *slip)
        rows = taken_less_seriously(solved.rows, *slip)
        found.append((row_name(solved.rows, slip[1]), opening.stations[slip[0]].name))
        solved = solve(opening, rows, habits)
    names = tuple(one.name for one, gone in zip(opening.stations, let_go, strict=True) if gone)
    doubted = tuple(opening.stations[at].name for at in slipped)
    return replace(solved, slips=tuple(found), girth_let_go=names, girth_slips=doubted)


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


def disagreement(solved: Ledger) -> tuple[float, int]:
    """Return the chi-square of all rows against one another and how many rows were read.

    chi^2 = sum y' K^-1 y - dv' A dv, with as many degrees of freedom as rows.
    """
    import numpy as np

    step = solved.shared - solved.before
    total = float((solved.residual * solved.weighed).sum())
    total -= float(step @ np.linalg.solve(solved.covariance, step))
    return total, int((doubts_of(solved.rows) < U_UNKNOWN_MM / 10).sum())
