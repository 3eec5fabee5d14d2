"""The one sentence about a strake's widths, and a builder's own spread."""

import pytest

from buildlog.queries.widths import Spread, SpreadWhenAsked, instrument_last_used, own_spread, widths_in_words
from tests.factories import MM, InstrumentFactory, ReadingFactory


@pytest.mark.parametrize(
    ("offs_mm", "sentence"),
    [
        ({}, ""),
        ({"F": 0.02, "M": -0.02}, "Within plan."),
        ({"F": 0.03, "M": 0.0}, "Wide by 0.03 at F."),
        ({"F": -0.06, "M": -0.09}, "Narrow at every station, most at M by 0.09."),
        ({"F": 0.05, "M": 0.07, "A": 0.0}, "Wide at 2 stations, most at M by 0.07."),
        ({"F": 0.05, "⊗": -0.07}, "Wide by 0.05 at F and narrow by 0.07 at dead flat."),
    ],
    ids=["nothing read", "noise", "one station", "every station", "some", "both ways"],
)
def test_widths_are_told_in_one_sentence(offs_mm, sentence):
    assert widths_in_words({name: round(off * MM) for name, off in offs_mm.items()}) == sentence


@pytest.mark.parametrize(
    ("off_mm", "is_odd"),
    [(0.05, False), (0.19, False), (0.21, True), (-0.21, True)],
    ids=["usual", "inside the change an eye sees", "unlike this hand, wide", "unlike this hand, narrow"],
)
def test_figure_is_odd_beyond_three_spreads_and_beyond_four_percent(off_mm, is_odd):
    # Three times 0.02 is 0.06, but 4 % of 5 mm is 0.20: the larger of the two decides.
    assert Spread(0.0, 0.02 * MM).is_odd(round(off_mm * MM), 5 * MM) is is_odd


def test_habit_is_not_taken_for_an_odd_figure():
    # Somebody who leaves the line by 0.25 is asked about a plank that is spot on plan no more than about 0.40.
    spread = Spread(0.25 * MM, 0.05 * MM)

    assert [spread.is_odd(round(off * MM), 5 * MM) for off in (0.0, 0.25, 0.39, 0.45)] == [
        False, False, False, True,
    ]  # fmt: skip


def _widths(hull, count, person=None, **fields):
    for number in range(count):
        ReadingFactory(
            build=hull.build, opening=hull.opening, strake=hull.strakes[str(number % 5 + 1)],
            station=hull.stations[number // 5], value_nm=5 * MM + number % 2 * 20_000,
            person=person or hull.person, **fields,
        )  # fmt: skip


def test_spread_is_read_only_when_a_width_is_far_off(hull, django_assert_num_queries):
    spread = SpreadWhenAsked(hull.opening, hull.person)

    with django_assert_num_queries(0):
        assert not spread.is_odd(4 * MM // 100, 1 * MM)
    with django_assert_num_queries(1):
        spread.is_odd(5 * MM // 100, 1 * MM)


def test_spread_is_told_from_ten_widths_on(hull):
    _widths(hull, 9)
    before = own_spread(hull.opening, hull.person)
    _widths(hull, 15)

    spread = own_spread(hull.opening, hull.person)

    assert before is None
    # Seven of 15 are 0.02 wide: mean 7/15 of 0.02; s^2 = 15/14 p (1 - p) 0.02^2 with p = 7/15.
    assert spread.mean_nm == pytest.approx(7 / 15 * 20_000)
    assert spread.deviation_nm == pytest.approx(20_000 * (15 / 14 * 7 / 15 * 8 / 15) ** 0.5)


def test_spread_counts_only_one_s_own_hand(hull):
    from tests.factories import PersonFactory

    _widths(hull, 15, person=PersonFactory(build=hull.build, display_name="Marit"))

    assert own_spread(hull.opening, hull.person) is None


def test_instrument_offered_is_the_last_used_else_one_s_own_else_the_first(hull):
    own = InstrumentFactory(build=hull.build, name="Own caliper", owner=hull.person)
    first = hull.caliper
    register = [first, own]

    unused = instrument_last_used(hull.build, hull.person, register)
    ReadingFactory(
        build=hull.build, opening=hull.opening, strake=hull.strakes["1"], station=hull.stations[0],
        person=hull.person, instrument=first,
    )  # fmt: skip

    assert unused == own
    assert instrument_last_used(hull.build, hull.person, register) == first
    assert instrument_last_used(hull.build, hull.person, []) is None
