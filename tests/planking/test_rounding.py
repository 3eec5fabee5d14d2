"""Rounding by running remainder, and splits that leave nothing over."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planking.lengths import PlankingError, round_run, split_nm, to_nm

parts = st.sampled_from([1, 3, 7, 16, 48, 1000, 3840, 5000])
width = st.builds(lambda whole, part: Fraction(whole % (20 * part), part), st.integers(0, 10**5), parts)
widths = st.lists(width, min_size=1, max_size=30)
steps = st.sampled_from(
    [Fraction("0.05"), Fraction("0.1"), Fraction(127, 3840), Fraction(1, 64), Fraction(1)]
)


def test_twenty_strakes_that_each_lose_a_little_lose_nothing_together():
    # Rounded one by one, 20 strakes of 5.02 in steps of 0.05 come out 0.40 short: 20 x 0.02.
    run = round_run([Fraction("5.02")] * 20, Fraction("0.05"))

    assert sum(run.widths_mm) == Fraction("100.40")
    assert run.largest_error_mm <= Fraction("0.025")
    assert 20 * Fraction("5.00") == Fraction("100.00")


def test_thirds_of_an_inch_in_sixteenths_by_hand():
    # 4 5/6 in is 77 1/3 sixteenths: 77.33, 154.67, 232, 309.33 rounds to 77, 155, 232, 309.
    run = round_run([Fraction(29, 6)] * 4, Fraction(1, 16))

    assert run.marks == (77, 155, 232, 309)
    assert run.steps == (77, 78, 77, 77)
    assert run.largest_error_mm == Fraction(1, 48)


def test_tie_goes_to_the_even_partial_sum():
    # Partial sums 0.5, 1, 1.5, 2 steps: to even 0, 1, 2, 2.
    run = round_run([Fraction(1, 2)] * 4, Fraction(1))

    assert run.marks == (0, 1, 2, 2)


def test_no_widths_round_to_no_marks():
    run = round_run([], Fraction(1))

    assert (run.steps, run.marks, run.largest_error_mm) == ((), (), 0)


def test_step_that_is_nothing_is_refused():
    with pytest.raises(PlankingError) as refused:
        round_run([Fraction(1)], Fraction(0))

    assert refused.value.field == "step_mm"


def test_width_below_zero_is_refused_with_its_number():
    with pytest.raises(PlankingError, match="number 2 is below zero"):
        round_run([Fraction(1), Fraction(-1)], Fraction(1))


@given(run=widths, step=steps)
def test_every_seam_is_within_half_a_step(run, step):
    rounded = round_run(run, step)

    edge = Fraction(0)
    for width, mark in zip(run, rounded.marks_mm, strict=True):
        edge += width
        assert abs(mark - edge) <= step / 2


@given(run=widths, step=steps)
def test_every_width_is_within_one_step(run, step):
    rounded = round_run(run, step)

    assert all(abs(a - b) <= step for a, b in zip(rounded.widths_mm, run, strict=True))


@given(run=widths, step=steps)
def test_steps_add_up_to_the_marks(run, step):
    rounded = round_run(run, step)

    assert [sum(rounded.steps[: i + 1]) for i in range(len(run))] == list(rounded.marks)


@given(run=widths, step=steps, first=st.integers(0, 29), last=st.integers(0, 29))
def test_every_block_of_neighbours_is_within_one_step(run, step, first, last):
    rounded = round_run(run, step)

    block = slice(min(first, last), max(first, last) + 1)

    assert abs(sum(rounded.widths_mm[block]) - sum(run[block])) <= step


@given(counts=st.lists(st.integers(0, 200), min_size=1, max_size=30), step=steps)
def test_widths_already_in_steps_are_left_alone(counts, step):
    rounded = round_run([count * step for count in counts], step)

    assert list(rounded.steps) == counts
    assert rounded.largest_error_mm == 0


@given(total=st.fractions(min_value=0, max_value=1000), parts=st.integers(1, 60))
def test_equal_parts_add_up_to_the_nanometre(total, parts):
    split = split_nm(total, parts)

    assert sum(split) == to_nm(total)
    assert max(split) - min(split) <= 1


@given(
    nm=st.integers(0, 10**9),
    shares=st.lists(
        st.integers(2, 100).map(lambda twentieths: Fraction(twentieths, 20)), min_size=1, max_size=30
    ),
)
def test_parts_by_share_add_up_to_the_nanometre(nm, shares):
    split = split_nm(Fraction(nm, 10**6), shares)

    assert sum(split) == nm
    whole = sum(shares)
    assert all(abs(part - nm * share / whole) <= 1 for part, share in zip(split, shares, strict=True))


@pytest.mark.parametrize(
    ("total", "shares", "field"),
    [(-1, 3, "total_mm"), (1, 0, "shares"), (1, [], "shares"), (1, [1, 0], "shares"), (1, [1, -1], "shares")],
)
def test_split_that_makes_no_sense_is_refused(total, shares, field):
    with pytest.raises(PlankingError) as refused:
        split_nm(Fraction(total), shares)

    assert refused.value.field == field


def test_equal_parts_are_as_long_as_parts_whose_shares_are_alike():
    # 10 mm in four: 2.5 mm each, whatever the one share of all of them is called.
    assert split_nm(Fraction(10), 4) == (2_500_000,) * 4
    assert split_nm(Fraction(10), [Fraction(3)] * 4) == (2_500_000,) * 4
