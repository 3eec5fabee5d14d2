"""Hours to finish: the interval holds, hostile hours are refused."""

import math

import numpy as np
import pytest

from planking.errors import PlankingError
from planking.pace import StrakeToCome, crawford, pace, wright


def test_the_interval_holds_eight_times_in_ten() -> None:
    # 250 invented builds of twenty strakes under the model, asked after eight: 80 % of them, give or take 5.
    draw = np.random.default_rng(5)
    inside = 0
    for _ in range(250):
        first, learning = math.log(6) + draw.normal(), 0.15 + 0.12 * draw.normal()
        sigma = 0.3 / math.sqrt(draw.chisquare(4) / 4)
        hours = np.exp(first - learning * np.log(np.arange(1, 21)) + sigma * draw.normal(size=20))
        told = pace(hours[:8].tolist(), [StrakeToCome()] * 12)
        inside += told.low_hours <= hours[8:].sum() <= told.high_hours

    assert 0.74 <= inside / 250 <= 0.90


def test_the_same_hours_give_the_same_interval() -> None:
    assert pace([5.0, 4.0, 4.5], [StrakeToCome()]) == pace([5.0, 4.0, 4.5], [StrakeToCome()])


def test_half_done_counts_for_the_rest() -> None:
    whole, half = pace([5.0] * 6, [StrakeToCome()]), pace([5.0] * 6, [StrakeToCome(done_share=0.5)])

    assert half.middle_hours == pytest.approx(whole.middle_hours / 2)


def test_a_hard_strake_takes_its_share_longer() -> None:
    plain, hard = pace([5.0] * 6, [StrakeToCome()]), pace([5.0] * 6, [StrakeToCome(difficulty=1.4)])

    assert hard.middle_hours == pytest.approx(1.4 * plain.middle_hours)


def test_hard_strakes_already_hung_do_not_slow_the_plain_ones_to_come() -> None:
    hours = [8.4, 6.0, 5.8, 5.6]

    told = pace(hours, [StrakeToCome()] * 4, difficulties=[1.4, 1.0, 1.0, 1.0])

    assert told.middle_hours < pace(hours, [StrakeToCome()] * 4).middle_hours + 2


@pytest.mark.parametrize("hours", [[], [6.0], [6.0, 5.0]])
def test_under_three_strakes_it_is_too_early(hours: list[float]) -> None:
    assert pace(hours, [StrakeToCome()]).too_early


def test_nothing_to_come_takes_no_time() -> None:
    told = pace([5.0] * 4, [])

    assert (told.low_hours, told.high_hours) == (0.0, 0.0)


@pytest.mark.parametrize("hours", [[0.0], [-1.0], [math.nan], [math.inf], [1e9]])
def test_hours_that_cannot_be_are_refused(hours: list[float]) -> None:
    with pytest.raises(PlankingError) as caught:
        pace(hours, [StrakeToCome()])

    assert caught.value.field == "hours"


@pytest.mark.parametrize("facts", [{"difficulty": 0.0}, {"difficulty": math.nan}, {"done_share": 1.5}])
def test_strakes_that_cannot_be_are_refused(facts: dict[str, float]) -> None:
    with pytest.raises(PlankingError) as caught:
        StrakeToCome(**facts)

    assert caught.value.field in facts


def test_difficulties_must_match_the_hours() -> None:
    with pytest.raises(PlankingError) as caught:
        pace([5.0, 4.0], [StrakeToCome()], difficulties=[1.0])

    assert caught.value.field == "difficulties"


@pytest.mark.parametrize("theory", [wright, crawford])
@pytest.mark.parametrize(("first", "share"), [(0.0, 0.8), (100.0, 0.0), (100.0, 1.2), (math.nan, 0.8)])
def test_learning_that_cannot_be_is_refused(theory: object, first: float, share: float) -> None:
    with pytest.raises(PlankingError):
        theory(first, share, 4)
