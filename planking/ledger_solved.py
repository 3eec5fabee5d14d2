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

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from planking.ledger_rows import U_UNKNOWN_MM, Rows
from planking.ledger_tables import Habits, Tables, doubts_of, steps_of, tables_of
from planking.opening import Opening
from planking.scatter import Scatter, scatter_of

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

U_PRIOR_MM = 1e-6


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
