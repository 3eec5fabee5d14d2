"""Where the planking is heading, in one sentence; figures worked by hand beside each."""

from dataclasses import replace

import pytest

from planking.drift import review
from planking.heading import heading
from planking.opening import GapReading, Limits, Opening, Station, Strake

SURE = 0.02


def opening_with(gap_mm, *, labels="12345", hung=(), u_mm=SURE, limits=None) -> Opening:
    strakes = tuple(
        Strake(
            label, "closing" if label == "3" else "keel" if label < "3" else "wale", {"D": 5.0},
            state="hung" if label in hung else "open", hung_order=hung.index(label) + 1 if label in hung else None,
        )
        for label in labels
    )  # fmt: skip
    gaps = (GapReading("D", gap_mm, frozenset(hung), u_mm),)
    return Opening(
        "port", (Station("D"),), strakes, gaps=gaps, seam_mm=0.0, u_seam_mm=0.0005, seam_scatter_mm=0.0,
        limits=limits or Limits(),
    )  # fmt: skip


def test_short_gap_says_what_follows_and_what_each_gives():
    """25.00 planned, 24.50 read: 0.50 short, 5.00 - 0.50 = 4.50, 0.50 / 5 = 0.10 each."""
    said = heading(review(opening_with(24.5)))

    assert said == (
        "The gap is short by 0.50 at D: left alone, strake 3 would be 4.50, planned 5.00; "
        "spread over strakes 5 to 1 each is 0.10 narrower."
    )


def test_gap_that_is_over_makes_them_wider():
    said = heading(review(opening_with(25.4)))

    assert said.startswith("The gap is over by 0.40 at D: left alone, strake 3 would be 5.40, planned 5.00; ")
    assert said.endswith("each is 0.08 wider.")


def test_what_is_less_than_its_doubt_is_not_said():
    assert heading(review(opening_with(24.97, u_mm=0.05))) == ""
    assert heading(review(opening_with(25.0))) == ""


def test_what_is_forgiven_says_carry_on():
    """4 % of 5.00 is 0.20; 0.12 is beyond a doubt of 0.02 and inside it."""
    said = heading(review(opening_with(24.88)))

    assert said.endswith("left alone, strake 3 would be 4.88, planned 5.00; 0.20 is forgiven, so carry on.")


def test_too_much_for_the_strakes_left_changes_the_plan():
    """22.00 for five of 5.00 asks for 0.60 each, more than the 4 % that is forgiven."""
    said = heading(review(opening_with(22.0)))

    assert "short by 3.00 at D" in said
    assert "change the plan" in said


def test_last_strake_is_made_to_the_gap():
    hung = ("5", "1", "4", "2")
    said = heading(review(opening_with(4.7, hung=hung)))

    assert said == "4.70 at D is what the gap leaves for strake 3, planned 5.00: make it to the gap."


@pytest.mark.parametrize("hung", [("5", "1", "4", "2", "3")])
def test_closed_opening_says_nothing(hung):
    closed = replace(opening_with(4.7, hung=hung[:4]), gaps=())
    closed = replace(closed, strakes=tuple(replace(one, state="hung") for one in closed.strakes))

    assert heading(review(closed)) == ""
