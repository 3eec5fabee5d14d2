"""What it would gain to let a strake's cutting error run along the hull in the ledger (tried, not adopted).

python -m tests.calibration.along_hull --truth 0 --openings 250 --seed 2 --shares 0.6 0.9

The ledger takes the error of a strake at one station for independent of the next station's, once the whole
strake's common error is known. Here a share of its variance runs smoothly instead: the error is a few waves
along the hull, unknowns of the strake that all stations share, and what is left over at each station alone.
Every opening is played without and with it, on the same draws.
"""

import argparse
from collections.abc import Sequence
from dataclasses import dataclass, field, fields, replace
from functools import partial
from unittest.mock import patch

import numpy as np
from numpy.typing import NDArray

from planking import estimate, ledger_solved
from planking.ledger_rows import U_FREE_WIDTH_MM, Rows
from planking.ledger_tables import Habits, Tables, doubts_of
from planking.opening import Opening
from planking.scatter import Scatter
from tests.calibration import play
from tests.calibration.results import closed_loop_row
from tests.calibration.simulator import CLASSES, Truth

Array = NDArray[np.float64]

LEAST_WAVE = 0.02
"""Waves of less variance than this are left out."""

solve_alone = estimate.solve


def waves_of(opening: Opening, length: float) -> Array:
    """The waves of one strake's error, S stations by W, each of variance one.

    C = exp(-d^2 / 2 l^2) between stations, l in parts of the hull's length; its mean over the stations taken
    off, for that is the strake's own common error; scaled to scatter about that mean as S independent errors of
    variance one do. Its greater eigenvectors, times the root of their eigenvalue.
    """
    places = np.array(opening.places_mm)
    count = len(places)
    if count < 3:
        return np.zeros((count, 0))
    apart = (places[:, None] - places[None, :]) / (length * (places[-1] - places[0]))
    mean_off = np.eye(count) - 1 / count
    values, vectors = np.linalg.eigh(mean_off @ np.exp(-0.5 * apart**2) @ mean_off)
    values = values * (count - 1) / values.sum()
    kept = values > LEAST_WAVE
    return np.asarray(vectors[:, kept] * np.sqrt(values[kept]))


@dataclass(frozen=True)
class AlongLedger(estimate.Ledger):
    """A ledger whose last shared unknowns are the waves of each strake."""

    waves: Array = field(default_factory=lambda: np.zeros((0, 0)))

    def answer(self, question: estimate.Question) -> estimate.Answer:
        """The answer, where what is asked of a strake's error is asked of its waves too."""
        waved = on_waves(question.cuts[:, None, :], self.rows, self.waves)[:, 0]
        rest = question.shared[:, : question.shared.shape[1] - waved.shape[1]]
        return super().answer(replace(question, shared=np.hstack([rest, waved])))


def on_waves(cuts: Array, rows: Rows, waves: Array) -> Array:
    """How rows hang on the waves of each strake, S x m x K W, given how they hang on its error at the station."""
    made = np.einsum("smk,sw->smkw", cuts * (1 - rows.free)[:, None, :], waves)
    return made.reshape(*cuts.shape[:2], cuts.shape[2] * waves.shape[1])


def solve_along(
    share: float,
    length: float,
    opening: Opening,
    rows: Rows,
    habits: Habits | None = None,
    scatter: Scatter | None = None,
) -> estimate.Ledger:
    """Solve the rows as `estimate.solve` does, a share of every strake's error running along the hull."""
    plain, waves = solve_alone(opening, rows, habits, scatter), waves_of(opening, length)
    tables, variance = _tables_along(plain, waves, share), share * plain.scatter.station_mm2
    before, known = ledger_solved._shared_before(opening, rows, plain.habits, plain.scatter)
    many = tables.shared.shape[2] - len(before)
    if not many or not share:
        return plain
    before = np.concatenate([before, np.zeros(many)])
    information = np.einsum("smv,smw->vw", tables.shared, tables.through)
    information += np.diag(1 / np.concatenate([known, np.full(many, variance)]))
    right = np.einsum("smv,sm->v", tables.through, plain.residual)
    ledger_solved._weigh_zero_checks(opening, before, information, right)
    covariance = np.linalg.inv(information)
    covariance = (covariance + covariance.T) / 2
    told = {one.name: getattr(plain, one.name) for one in fields(plain)}
    told |= {"tables": tables, "weighed": np.einsum("sm,smn->sn", plain.residual, tables.inverse)}
    told |= {"before": before, "shared": before + covariance @ right, "covariance": covariance}
    return AlongLedger(**told, waves=waves)


def _tables_along(plain: estimate.Ledger, waves: Array, share: float) -> Tables:
    tables, rows, strakes = plain.tables, plain.rows, len(plain.rows.strakes)
    prior, own = tables.prior.copy(), tables.own
    prior[:, 2 : 2 + strakes] = np.where(
        rows.free > 0, U_FREE_WIDTH_MM**2, (1 - share) * plain.scatter.station_mm2
    )
    waved = on_waves(own[:, :, 2 : 2 + strakes], rows, waves)
    k = (own * prior[:, None, :]) @ own.transpose(0, 2, 1)
    each = np.arange(k.shape[1])
    k[:, each, each] += doubts_of(rows) ** 2
    inverse = np.linalg.inv(k)
    shared = np.concatenate([tables.shared, waved], axis=2)
    return replace(tables, shared=shared, prior=prior, inverse=inverse, through=inverse @ shared)


def play_along(truth: Truth, seed: int, share: float, length: float) -> play.Played:
    """One opening, the last two trimmed, every ledger solved with a share that runs along the hull."""
    with patch.object(estimate, "solve", partial(solve_along, share, length)):
        return play.play(truth, play.TRIMMED, seed)


def paired(without: Sequence[play.Played], along: Sequence[play.Played]) -> str:
    """By how much e^2 changed on the same openings, with its standard error, and e over 0.3 mm gained and lost."""
    old, new = (np.array([one.closing_error for one in found]) for found in (without, along))
    before, change = (old**2).mean(), (new**2 - old**2).mean(axis=1)
    was, now = np.abs(old).max(axis=1) > 0.3, np.abs(new).max(axis=1) > 0.3
    error = change.std() / len(change) ** 0.5
    told = f"e^2 {100 * change.mean() / before:+.1f} % (standard error {100 * error / before:.1f})"
    return f"{told}; e > .3 ended in {(was & ~now).sum()} openings, begun in {(now & ~was).sum()}"


def main() -> None:
    asked = argparse.ArgumentParser(prog="python -m tests.calibration.along_hull")
    asked.add_argument("--truth", type=int, default=0, help="which of the ten classes of truth, from 0")
    asked.add_argument("--openings", type=int, default=100)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--shares", type=float, nargs="+", default=[0.6])
    asked.add_argument("--length", type=float, default=0.25, help="how far it runs, in parts of the hull's length")
    told = asked.parse_args()
    seeds = range(told.seed * 1_000_000, told.seed * 1_000_000 + told.openings)
    truth = CLASSES[told.truth]
    without = [play.play(truth, play.TRIMMED, seed) for seed in seeds]
    print(f"{truth.name}, seed {told.seed}\n\n{closed_loop_row.head}\n{closed_loop_row('without', without)}")
    for share in told.shares:
        along = [play_along(truth, seed, share, told.length) for seed in seeds]
        print(closed_loop_row(f"a share of {share}: {paired(without, along)}", along))


if __name__ == "__main__":
    main()
