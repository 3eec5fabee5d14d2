"""Charts of habit against printed tables: sums, weighted means, and how long a chart runs."""

import math

import numpy as np
import pytest
from scipy.special import stdtr

from planking.cusum import cusum, ewma
from planking.habit import LIMIT, SLACK

# Montgomery and Runger, Applied Statistics and Probability for Engineers, example 16-6, tables 16-7 and 16-8
# (seen at
# issuhub.com, id 5218, pages 750 and 752; the copy has lost its minus signs, restored by calculation).
CONCENTRATION = [
    102.0,
    94.8,
    98.3,
    98.4,
    102.0,
    98.5,
    99.0,
    97.7,
    100.0,
    98.1,
    101.3,
    98.7,
    101.1,
    98.4,
    97.0,
    96.7,
    100.3,
    101.4,
    97.2,
    101.0,
]

HIGH = [2.0, 0, 0, 0, 2.0, 0.5, 0, 0, 0, 0, 1.3, 0, 1.1, 0, 0, 0, 0.3, 1.7, 0, 1.0]

LOW = [0, 3.2, 2.9, 2.5, 0, 0, 0, 0.3, 0, 0, 0, 0, 0, 0, 1.0, 2.3, 0, 0, 0.8, 0]

# NIST/SEMATECH e-Handbook 6.3.2.3, values from memory, arithmetic recomputed.
NIST_CUSUM = [
    324.925,
    324.675,
    324.725,
    324.350,
    325.350,
    325.225,
    324.125,
    324.525,
    325.225,
    324.600,
    324.625,
    325.150,
    328.325,
    327.250,
    327.825,
    328.500,
    326.675,
    327.775,
    326.875,
    328.350,
]

# NIST/SEMATECH e-Handbook 6.3.2.4, values from memory, arithmetic recomputed.
NIST_EWMA = [
    52.0,
    47.0,
    53.0,
    49.3,
    50.1,
    47.0,
    51.0,
    50.1,
    51.2,
    50.5,
    49.6,
    47.6,
    49.9,
    51.3,
    47.8,
    51.2,
    52.6,
    52.4,
    53.6,
    52.1,
]

NIST_EWMA_GIVES = [
    50.60,
    49.52,
    50.56,
    50.18,
    50.16,
    49.21,
    49.75,
    49.85,
    50.26,
    50.33,
    50.11,
    49.36,
    49.52,
    50.05,
    49.38,
    49.92,
    50.73,
    51.23,
    51.94,
    51.99,
]


def test_cusum_of_the_textbook_table() -> None:
    found = cusum(CONCENTRATION, target=99.0, slack=1.0, limit=10.0)

    assert found.high == pytest.approx(HIGH, abs=1e-9)
    assert found.low == pytest.approx(LOW, abs=1e-9)
    assert found.first_alarm is None
    assert (max(found.high), max(found.low)) == (pytest.approx(2.0), pytest.approx(3.2))


def test_plain_sum_of_the_textbook_table_is_the_two_sided_chart_with_nothing_taken_off() -> None:
    """The same source prints the plain sums of x - 99; a chart with no slack is their distance from the lowest."""
    printed = [3.0, -1.2, -1.9, -2.5, 0.5, 0.0, 0.0, -1.3, -0.3, -1.2]
    printed += [1.1, 0.8, 2.9, 2.3, 0.3, -2.0, -0.7, 1.7, -0.1, 1.9]

    found = cusum(CONCENTRATION, target=99.0, slack=0.0, limit=10.0)

    lowest = [min(0.0, *printed[: at + 1]) for at in range(20)]
    highest = [max(0.0, *printed[: at + 1]) for at in range(20)]
    assert found.high == pytest.approx(np.subtract(printed, lowest), abs=1e-9)
    assert found.low == pytest.approx(np.subtract(highest, printed), abs=1e-9)
    # Mean 99.095 and mean moving range 2.589474 of the same twenty.
    assert (np.mean(CONCENTRATION), np.abs(np.diff(CONCENTRATION)).mean()) == pytest.approx((99.095, 2.589474))


@pytest.mark.parametrize(
    ("head_start", "sums", "alarm"),
    [
        (0.0, [0.3, 1.7, 2.6, 4.1, 4.7, 4.9, 7.0], 6),
        (2.5, [2.8, 4.2, 5.1, 6.6, 7.2, 7.4, 9.5], 2),
    ],
    ids=["no head start", "head start of half the limit"],
)
def test_cusum_with_and_without_head_start(head_start: float, sums: list[float], alarm: int) -> None:
    # Lucas and Crosier's table 5, as printed in a Six Sigma textbook, p. 391 (seen at
    # online.flipbuilder.com).
    found = cusum([0.8, 1.9, 1.4, 2.0, 1.1, 0.7, 2.6], slack=0.5, limit=5.0, head_start=head_start)

    assert found.high == pytest.approx(sums, abs=1e-9)
    assert found.first_alarm == alarm


def test_cusum_of_the_nist_handbook() -> None:
    found = cusum(NIST_CUSUM, target=325.0, slack=0.3175, limit=4.1959)

    assert found.high_alarms == (13, 14, 15, 16, 17, 18, 19)
    assert found.high[12:] == pytest.approx(
        [3.0075, 4.9400, 7.4475, 10.6300, 11.9875, 14.4450, 16.0025, 19.0350], abs=1e-9
    )
    assert found.low[1] == pytest.approx(0.0075, abs=1e-9)
    assert found.low[6:11] == pytest.approx([0.5575, 0.7150, 0.1725, 0.2550, 0.3125], abs=1e-9)


def test_ewma_of_the_nist_handbook() -> None:
    found = ewma(NIST_EWMA, start=50.0, share=0.3)

    assert found == pytest.approx(NIST_EWMA_GIVES, abs=0.005 + 1e-9)
    # Limits 50 +- 3 x 2.0539 x sqrt(0.3 / 1.7) = 52.5884 and 47.4116 (printed 47.4115); all twenty lie
    # inside.
    half = 3 * 2.0539 * math.sqrt(0.3 / 1.7)
    assert (50 + half, 50 - half) == (pytest.approx(52.5884, abs=5e-4), pytest.approx(47.4116, abs=5e-4))
    assert all(50 - half < value < 50 + half for value in found)

RUNS = {
    4.0: (168.0, 74.2, 26.6, 13.3, 8.38, 4.75, 3.34),
    5.0: (465.0, 139.0, 38.0, 17.0, 10.4, 5.75, 4.01),
}

SHIFTS = (0.0, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0)


def mean_run(limit: float, shift: float, slack: float = 0.5) -> float:
    """Mean run of one side from nought: a Markov chain of 301 states (Brook and Evans 1972, from memory)."""
    number = 301
    width = limit / (number - 0.5)
    middle = np.arange(number) * width
    edge = middle[None, :] + width / 2 - middle[:, None] + slack - shift
    step = np.diff(np.concatenate([np.zeros((number, 1)), stdtr(1e9, edge)], axis=1), axis=1)
    return float(np.linalg.solve(np.eye(number) - step, np.ones(number))[0])


@pytest.mark.parametrize("limit", RUNS)
def test_average_runs_of_the_table_by_a_markov_chain(limit: float) -> None:
    # Two sides: 1/ARL = 1/ARL_high + 1/ARL_low (Van Dobben de Bruyn 1968, from memory).
    found = [1 / (1 / mean_run(limit, shift) + 1 / mean_run(limit, -shift)) for shift in SHIFTS]

    assert found == pytest.approx(RUNS[limit], rel=0.005)


@pytest.mark.parametrize("shift", [0.5, 1.0, 2.0])
def test_our_chart_runs_as_long_as_the_table_says(shift: float) -> None:
    """400 drawn series through `cusum` itself; the mark is four standard errors wide."""
    draw = np.random.default_rng(11)
    runs = []
    for series in shift + draw.normal(size=(400, 400)):
        first = cusum(series.tolist(), slack=0.5, limit=4.0).first_alarm
        assert first is not None
        runs.append(first + 1)

    expected = RUNS[4.0][SHIFTS.index(shift)]
    assert np.mean(runs) == pytest.approx(expected, abs=4 * np.std(runs) / 20)


def test_limit_of_the_habit_chart_gives_one_false_alarm_in_two_hundred() -> None:
    # k 0.417, h 4.80: 200 by simulation of 6000 paths (our own); the chain agrees within its 2 %.
    assert mean_run(LIMIT, 0.0, SLACK) / 2 == pytest.approx(200, rel=0.03)
    # And a habit of 0.05 in a scatter of 0.06 is found in 11.7 strakes, were the scatter known.
    wide, narrow = mean_run(LIMIT, 0.05 / 0.06, SLACK), mean_run(LIMIT, -0.05 / 0.06, SLACK)
    assert 1 / (1 / wide + 1 / narrow) == pytest.approx(11.7, abs=0.3)
