"""The trial of cutting errors that run along the hull: its ledger against one dense solve, and its play."""

from dataclasses import replace

import numpy as np
import pytest

from planking import estimate
from planking.ledger_rows import rows_of
from planking.ledger_tables import Habits
from planking.scatter import scatter_of
from tests.calibration import play
from tests.calibration.along_hull import AlongLedger, on_waves, play_along, solve_along, waves_of
from tests.calibration.simulator import CLASSES, Hull
from tests.planking.dense_ledger import DenseLedger
from tests.planking.test_estimate import drawn

SHARE, LENGTH = 0.8, 0.25


class DenseAlong(DenseLedger):
    """One dense solve where the errors of a strake at its stations go together."""

    def prior(self) -> np.ndarray:
        prior, waves = super().prior(), waves_of(self.opening, LENGTH)
        together = SHARE * waves @ waves.T + (1 - SHARE) * np.eye(len(waves))
        names = [one.name for one in self.opening.stations]
        for label in self.order:
            if not self.is_free(label):
                at = [self.index[("c", label, name)] for name in names]
                prior[np.ix_(at, at)] = self.scatter.station_mm2 * together
        return prior


@pytest.mark.parametrize("seed", [0, 1, 2, 4, 5, 7, 8, 9])
def test_waves_of_the_cuts_agree_with_one_dense_solve(seed: int) -> None:
    opening = drawn(seed)
    rows = rows_of(opening)
    scatter = scatter_of(opening, rows)

    found = solve_along(SHARE, LENGTH, opening, rows, scatter=scatter)
    mean, covariance = DenseAlong(opening, scatter, Habits()).room()
    room = estimate.room(found)

    assert room.mean == pytest.approx(mean, abs=1e-8)
    assert room.covariance == pytest.approx(covariance, abs=1e-8)


def test_waves_run_smoothly_and_scatter_as_much_as_independent_errors() -> None:
    waves = waves_of(Hull(CLASSES[0], np.random.default_rng(1)).opening(), LENGTH)
    together = waves @ waves.T

    # 10 stations scatter about their mean with 9 degrees of freedom; what is left out is under 0.02 a wave.
    assert np.trace(together) == pytest.approx(9.0, abs=0.1)
    assert np.abs(waves.sum(axis=0)).max() < 1e-9
    apart = np.sqrt(np.diagonal(together))
    next_along = np.diagonal(together / apart[:, None] / apart[None, :], 1)
    assert next_along.min() > 0.5


def test_a_strake_made_to_no_plan_has_no_waves() -> None:
    opening = drawn(0)
    rows, waves = rows_of(opening), waves_of(opening, LENGTH)
    free = np.zeros_like(rows.free)
    free[:, 0] = 1.0
    cuts = np.ones((len(free), 1, free.shape[1]))

    found = on_waves(cuts, replace(rows, free=free), waves).reshape(*free.shape, -1)

    assert not found[:, 0].any()
    assert (found[:, 1:] == waves[:, None, :]).all()


def test_one_opening_is_played_with_the_waves_and_nothing_stays_patched() -> None:
    own = estimate.solve

    found = play_along(CLASSES[0], 5, SHARE, LENGTH)

    assert estimate.solve is own
    plain = play.play(CLASSES[0], play.TRIMMED, 5)
    assert 0 < np.abs(found.closing_error - plain.closing_error).max() < 0.2


def test_too_few_stations_run_nowhere() -> None:
    opening = drawn(0)
    two = type(opening)("port", opening.stations[:2], ())

    found = solve_along(SHARE, LENGTH, two, rows_of(two))

    assert not isinstance(found, AlongLedger)
