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


def test_a_value_beyond_the_tail_is_held_to_eight() -> None:
    assert habit([1e6]).standardised == (8.0,)
    assert habit([-1e6]).standardised == (-8.0,)


@pytest.mark.parametrize("scatter", [0.0, -0.06, math.nan, math.inf])
def test_a_scatter_that_is_none_is_refused(scatter: float) -> None:
    with pytest.raises(PlankingError) as caught:
        habit([0.05], scatter_mm=scatter)

    assert caught.value.field == "scatter_mm"


def test_next_strake_of_two_has_the_prediction_interval_of_the_prior_and_one_more() -> None:
    """By hand: 0.04 and 0.08, mean 0.06, SS 0.0008; nu = 4 + 1 = 5, s^2 = (4 x 0.0036 + 0.0008) / 5 = 0.00304.

    Half-width t(0.975, 5) s sqrt(1 + 1/2) = 2.5706 x 0.055136 x 1.224745 (t from any table of Student's t).
    """
    found = habit([0.04, 0.08])

    assert found.next_high_mm is not None
    assert found.next_low_mm is not None
    assert found.next_high_mm - 0.06 == pytest.approx(2.5706 * 0.055136 * 1.224745, rel=1e-4)
    assert 0.06 - found.next_low_mm == pytest.approx(found.next_high_mm - 0.06)
    # The bias: t s / sqrt(2).
    assert found.bias_high_mm == pytest.approx(0.06 + 2.5706 * 0.055136 / math.sqrt(2), rel=1e-4)


def test_scatter_of_two_has_the_chi_square_interval_of_the_prior_and_one_more() -> None:
    """By hand: nu s^2 = 4 x 0.0036 + 0.0008 = 0.0152; chi-square of 5: 0.8312 and 12.8325 (any table)."""
    found = habit([0.04, 0.08])

    assert found.scatter_mm == pytest.approx(math.sqrt(0.0152 / 5))
    assert sorted([found.scatter_low_mm, found.scatter_high_mm]) == pytest.approx(
        [math.sqrt(0.0152 / 12.8325), math.sqrt(0.0152 / 0.8312)], rel=1e-4
    )


def test_second_value_is_standardised_by_the_prior_and_the_one_before() -> None:
    """By hand: one value has no squares about its mean, and max(i - 1, 0) = 0: the prior alone again."""
    assert habit([0.06, 0.06]).standardised[1] == pytest.approx(0.8892, abs=2e-4)


def test_third_value_is_standardised_by_the_squares_of_two() -> None:
    """By hand: 0.00 and 0.12: SS 0.0072; nu 5; s^2 = (0.0144 + 0.0072) / 5 = 0.00432; 0.06 / 0.065727 = 0.912871.

    P(t5 < 0.912871) = 0.79840, whose normal quantile is 0.83586 (scipy.stats, checked).
    """
    assert habit([0.0, 0.12, 0.06]).standardised[2] == pytest.approx(0.8359, abs=2e-4)


def test_a_narrow_habit_is_called_narrow_with_its_mean() -> None:
    said = habit([-0.09] * 8).sentence

    assert said.startswith("Readings run narrow: 0.09 a strake over 8 strakes")
    assert said.endswith("; check the instrument's zero on a block, then the cutting.")
    assert habit([]).sentence == "Nothing was cut yet."
    assert habit([0.01]).sentence == "No habit shows."


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


def test_a_wide_habit_of_hundredths_is_called_wide() -> None:
    assert habit([0.09] * 8).sentence.startswith("Readings run wide: 0.09 a strake over 8 strakes")


def test_nothing_cut_has_no_bias_and_the_scatter_of_the_prior() -> None:
    """By hand: nu = 4 and nu s0^2 = 4 x 0.0036 = 0.0144; chi-square of 4: 0.4844 and 11.1433 (any table)."""
    found = habit([])

    assert (found.bias_mm, found.scatter_mm) == (0.0, pytest.approx(0.06))
    assert sorted([found.scatter_low_mm, found.scatter_high_mm]) == pytest.approx(
        [math.sqrt(0.0144 / 11.1433), math.sqrt(0.0144 / 0.4844)], rel=1e-4
    )
    assert habit([0.05]).scatter_low_mm == pytest.approx(found.scatter_low_mm)


def test_both_sides_of_the_chart_count_from_nought_after_their_alarm() -> None:
    assert cusum([-6.0, -1.0], slack=0.5, limit=5.0).low == (5.5, 6.0)
    assert cusum([-6.0, -1.0], slack=0.5, limit=5.0, restart=True).low == (5.5, 0.5)


def test_a_hand_that_turned_is_told_by_the_strakes_of_its_last_alarm() -> None:
    """Nine narrow by 0.10, then five wide by as much: the mean of all is narrow, the alarm is wide."""
    found = habit([-0.1] * 9 + [0.1] * 5)

    assert found.chart.high_alarms == (13,)
    assert found.bias_mm < 0
    # The sum of the wide side stood at nought until strake 10, so it holds the last five.
    assert found.sentence.startswith("Readings run wide: 0.10 a strake over 5 strakes;")
    turned = habit([0.1] * 9 + [-0.1] * 5)
    assert turned.sentence.startswith("Readings run narrow: 0.10 a strake over 5 strakes;")


def test_a_second_alarm_of_a_hand_that_turned_counts_from_the_first() -> None:
    series = [-0.1] * 16 + [0.1] * 10

    alarms = habit(series).chart.high_alarms

    assert len(alarms) == 2
    told = f"Readings run wide: 0.10 a strake over {alarms[1] - alarms[0]} strakes;"
    assert habit(series).sentence.startswith(told)


@pytest.mark.parametrize(("sign", "way"), [(1, "wide"), (-1, "narrow")])
def test_a_hand_that_turned_to_a_mean_of_nought_is_still_told_by_its_own_strakes(sign: int, way: str) -> None:
    found = habit([-sign * 0.125] * 5 + [sign * 0.125] * 5)

    assert found.bias_mm == 0
    assert found.alarms[-1] == 9
    assert found.sentence.startswith(f"Readings run {way}: 0.12 a strake over 5 strakes;")


def test_what_came_after_the_alarm_is_not_in_its_mean() -> None:
    found = habit([-0.1] * 9 + [0.1] * 5 + [0.05])

    assert found.sentence.startswith("Readings run wide: 0.10 a strake over 5 strakes;")


def test_an_alarm_may_hold_an_even_count_of_strakes() -> None:
    found = habit([-0.1] * 20 + [0.1] * 9)

    assert found.chart.high_alarms == (22, 28)
    assert found.sentence.startswith("Readings run wide: 0.10 a strake over 6 strakes;")
