"""The calibration in its short form: few openings, wide marks, so that a fault of the ledger or the recut
shows.

The full form is `python -m tests.calibration`; what it measured stands in RESULTS.md.
"""

import numpy as np
import pytest

from tests.calibration import play
from tests.calibration.simulator import CLASSES, ORDER, STRAKES

FEW = 16


@pytest.fixture(scope="module")
def advised() -> list[play.Played]:
    return [play.play(CLASSES[0], play.TRIMMED, seed) for seed in range(FEW)]


@pytest.fixture(scope="module")
def judged() -> list[play.Played]:
    return [play.play(truth, play.JUDGE_ONLY, seed) for truth in CLASSES[:4] for seed in range(10)]


def worst(found: list[play.Played]) -> np.ndarray:
    return np.array([np.abs(one.closing_error).max() for one in found])


def test_strakes_are_hung_from_both_lines_in_turn_and_the_middle_one_closes() -> None:
    assert ORDER[:4] == [19, 0, 18, 1]
    assert sorted(ORDER) == list(range(STRAKES))


def test_same_seed_draws_the_same_opening_again() -> None:
    one, other = (play.play(CLASSES[0], play.LEFT_ALONE, 7) for _ in range(2))

    assert (one.closing_error == other.closing_error).all()


def test_advice_closes_the_opening_within_half_a_millimetre(advised: list[play.Played]) -> None:
    # Full form: over 0.5 mm in under one in a thousand; sd 0.11 mm.
    assert worst(advised).max() < 0.6
    assert np.std([one.closing_error for one in advised]) < 0.16


def test_advice_is_many_times_better_than_none_and_than_widths_alone(advised: list[play.Played]) -> None:
    alone = [play.play(CLASSES[0], play.LEFT_ALONE, seed) for seed in range(FEW)]
    widths = [play.play(CLASSES[0], play.WIDTHS_ONLY, seed) for seed in range(4)]

    assert np.std([one.closing_error for one in alone]) > 4 * np.std([one.closing_error for one in advised])
    assert worst(widths).mean() > 2 * worst(advised).mean()


def test_advice_comes_near_the_oracle(advised: list[play.Played]) -> None:
    oracle = [play.play(CLASSES[0], play.ORACLE, seed) for seed in range(FEW)]

    assert np.std([one.closing_error for one in advised]) < 2 * np.std([one.closing_error for one in oracle])


def test_recuts_are_few_needed_and_small(advised: list[play.Played]) -> None:
    assert np.mean([one.recuts for one in advised]) < 6
    assert sum(one.needless for one in advised) <= 1
    assert np.median([one.largest_change for one in advised]) < 0.25


def test_intervals_hold_the_truth(judged: list[play.Played]) -> None:
    # 40 openings of ten stations, four times asked; stations of one opening fail together, so the mark is
    # wide.
    for asked in ("gap", "closing"):
        inside = [np.abs(t - m) <= h for one in judged for _, t, m, h in getattr(one, asked)]
        assert 0.88 <= np.mean(inside) <= 0.999


def test_doubts_shrink_as_gaps_are_read(judged: list[play.Played]) -> None:
    first, last = (np.mean([one.closing[at][3].mean() for one in judged]) for at in (0, -1))

    assert last < first / 3


def test_change_the_plan_is_not_cried_in_vain(judged: list[play.Played]) -> None:
    assert sum(one.false_change for one in judged) == 0


def test_one_ledger_an_opening_is_surer_than_one_a_station() -> None:
    together, alone = (
        np.mean(rows, axis=0) for rows in zip(*(play.half_widths(s) for s in range(3)), strict=True)
    )

    assert (together < alone).all()
    assert together[2:].sum() < 0.8 * alone[2:].sum()
