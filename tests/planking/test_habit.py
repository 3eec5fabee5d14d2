"""The chart of habit: how often it cries wolf, how soon it finds a habit, and the words beside it."""

import math
from dataclasses import replace

import numpy as np
import pytest

from planking.cusum import cusum, ewma
from planking.cuts import belts, last_of_one_sign, notes
from planking.errors import PlankingError
from planking.habit import habit
from tests.planking.brig import brig


def first_alarm(bias: float, sigma: float, seed: int, length: int = 700) -> int:
    draw = np.random.default_rng(seed)
    series = (bias + sigma * draw.normal(size=length)).tolist()
    return next(iter(habit(series).alarms), length - 1) + 1


def test_a_habit_of_five_hundredths_is_found_within_fifteen_strakes_on_average() -> None:
    runs = [first_alarm(0.05, 0.06, seed, 120) for seed in range(300)]

    # 6000 simulated paths gave 13.9; the standard error of this mean is about 0.5.
    assert np.mean(runs) < 15.0


def test_a_false_alarm_is_rarer_than_one_strake_in_190() -> None:
    runs = [first_alarm(0.0, 0.06, seed) for seed in range(150)]

    # 6000 simulated paths gave 205 for this sigma; cut off at 700 strakes the mean of this many runs is good
    # to about
    # 15.
    assert np.mean(runs) > 160


def test_chart_of_standardised_values_starts_from_nought_after_an_alarm() -> None:
    found = habit([0.09] * 12)

    assert found.alarms[0] == 4
    assert found.chart.high[5] < found.chart.high[4]


def test_first_value_is_standardised_by_the_prior_alone() -> None:
    # t with 4 degrees of freedom at 0.06 / 0.06 = 1: P = 0.81305, whose normal quantile is 0.88921
    # (scipy.stats, checked).
    assert habit([0.06]).standardised[0] == pytest.approx(0.8892, abs=2e-4)


def test_bias_and_scatter_have_intervals_that_hold_the_truth() -> None:
    inside_bias = inside_scatter = 0
    for seed in range(400):
        draw = np.random.default_rng(seed)
        found = habit((0.03 + 0.06 * draw.normal(size=12)).tolist())
        inside_bias += found.bias_low_mm <= 0.03 <= found.bias_high_mm
        inside_scatter += found.scatter_low_mm <= 0.06 <= found.scatter_high_mm

    # 95 % of 400 is 380, give or take 9 (two standard errors); the prior is right here, so they may hold
    # more often.
    assert inside_bias >= 368
    assert inside_scatter >= 368


@pytest.mark.parametrize("values", [[], [0.05]])
def test_too_few_strakes_have_no_interval(values: list[float]) -> None:
    found = habit(values)

    assert (found.bias_low_mm, found.bias_high_mm, found.next_low_mm) == (None, None, None)
    assert found.alarms == ()


@pytest.mark.parametrize("values", [[math.nan], [0.1, math.inf]])
def test_a_deviation_that_is_not_a_number_is_refused(values: list[float]) -> None:
    with pytest.raises(PlankingError) as caught:
        habit(values)

    assert caught.value.field == "deviations_mm"


def test_a_huge_deviation_does_not_break_the_chart() -> None:
    assert all(math.isfinite(value) for value in habit([1e6, -1e6, 0.0]).chart.high)


def test_order_of_sign_decides_the_run() -> None:
    assert last_of_one_sign([]) == 0
    assert last_of_one_sign([0.05, 0.04, -0.03, -0.02]) == 2


# The invented brig, port: what is said on each date (invented).
@pytest.mark.parametrize(
    ("hung", "sentence"),
    [
        (6, "Port 14 and 13 are both wide, about 0.06. Two is not yet a habit."),
        (
            7,
            "Port side belt: 3 of 3 wide, together 0.21 at H, 0.16 at dead flat; at this rate 0.34 and 0.27 "
            "by strake 10. A note, not an alarm.",
        ),
        (
            9,
            "Port side belt: 5 of 5 wide, together 0.34 at M, 0.29 at dead flat; it is carried on "
            "to the strakes left. Check the zero of caliper A first, then how the line is cut.",
        ),
    ],
)
def test_brig_is_told_of_its_side_belt(hung: int, sentence: str) -> None:
    told = [note.sentence for note in notes(brig("port", gaps=False, hung=hung))]

    assert told == [sentence]


def test_starboard_is_told_of_no_habit() -> None:
    assert notes(brig("starboard")) == ()


def test_readings_in_doubt_are_told() -> None:
    told = [note for note in notes(brig("port", corrected=False)) if note.kind == "in_doubt"]

    assert [note.strakes for note in told] == [("3", "4")]


def test_doubling_an_error_doubles_the_sum() -> None:
    opening = brig("port", hung=9)
    doubled = replace(
        opening,
        widths=tuple(
            replace(
                one,
                width_mm=one.width_mm
                + (one.width_mm - opening.strake_by_label[one.strake].planned_mm[one.station]),
            )
            for one in opening.widths
        ),
    )

    once = [one.mean_mm for belt in belts(opening) for one in belt]
    twice = [one.mean_mm for belt in belts(doubled) for one in belt]

    assert twice == pytest.approx([2 * mean for mean in once])


def test_the_chart_alarms_above_its_limit_and_not_on_it() -> None:
    assert cusum([5.5], slack=0.5, limit=5.0).high_alarms == ()
    assert cusum([5.51], slack=0.5, limit=5.0).high_alarms == (0,)
    assert cusum([-5.5], slack=0.5, limit=5.0).low_alarms == ()
    assert cusum([-5.51], slack=0.5, limit=5.0).low_alarms == (0,)


def test_the_chart_runs_on_after_an_alarm_unless_told_to_restart() -> None:
    assert cusum([6.0, 1.0], slack=0.5, limit=5.0).high == (5.5, 6.0)
    assert cusum([6.0, 1.0], slack=0.5, limit=5.0, restart=True).high == (5.5, 0.5)


def test_the_chart_counts_from_its_target() -> None:
    assert cusum([7.0], target=5.0, slack=0.5, limit=9.0).high == (1.5,)
    assert cusum([3.0], target=5.0, slack=0.5, limit=9.0).low == (1.5,)


def test_an_average_that_is_all_the_newest_value_follows_it() -> None:
    assert ewma([3.0, 4.0], start=0.0, share=1.0) == (3.0, 4.0)
    with pytest.raises(PlankingError):
        ewma([3.0], start=0.0, share=0.0)
    with pytest.raises(PlankingError):
        ewma([3.0], start=0.0, share=1.01)
