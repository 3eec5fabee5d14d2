"""The short form: three kills in flight mode. `python -m tests.endurance.flights` is the long one."""

import pytest

from tests.endurance.flights import Outcome, as_table, run

pytestmark = pytest.mark.journeys


def test_nothing_that_the_phone_kept_is_lost_when_its_browser_is_killed(tmp_path):
    outcome = run(tmp_path, kills=3, seed=3)

    assert (outcome.lost, outcome.twice, outcome.left) == (0, 0, 0), as_table(outcome)
    assert len(outcome.said) >= 3


def test_what_is_lost_or_twice_is_counted():
    outcome = Outcome(1, said={"a", "b"}, found={"a": 2})

    assert (outcome.lost, outcome.twice) == (1, 1)
