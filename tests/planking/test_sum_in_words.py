"""Sentences whose figures must add up, and what is never said: a width below nought, a part left out."""

from dataclasses import replace

import pytest

from planking.drift import review
from planking.heading import heading
from planking.opening import Epoch, GapReading, GirthReading, Limits, Opening, Station, Strake, WidthReading, ZeroCheck
from planking.sum_in_words import gap_check_sentence


def opening_of(gap: float, *, states: str = "ooo", widths: dict[str, float] | None = None, **facts: object) -> Opening:
    """Strakes 3 to 1 of 5.00 at D, keel side first, each hung, cut or open; strake 2 closes; the gap as read last."""
    kinds = {"o": "open", "c": "cut", "h": "hung"}
    strakes = tuple(
        Strake(label, "closing" if label == "2" else "wale", {"D": 5.0}, state=kinds[state])
        for label, state in zip("123", states, strict=True)
    )
    hung = frozenset(one.label for one in strakes if one.is_hung)
    given = {
        "gaps": (GapReading("D", gap, hung, 0.02),),
        "widths": tuple(WidthReading(label, "D", mm, "A") for label, mm in (widths or {}).items()),
        "epochs": (Epoch("A", "Caliper A", 0.02, 0.002),),
        "seam_mm": 0.0,
        "u_seam_mm": 0.001,
    } | facts
    return Opening("port", (Station("D"),), strakes, **given)


@pytest.mark.parametrize("proud_mm", [0.0, 0.2, -0.1, 0.6])
def test_closing_strake_that_is_cut_is_trimmed_to_the_gap_whatever_it_is_wide(proud_mm: float) -> None:
    """The gap is 4.60: so wide is the last strake wanted, whether it was cut 5.00, 5.20 or 4.90."""
    opening = opening_of(4.6, states="hch", widths={"1": 5.0, "2": 5.0 + proud_mm, "3": 5.0})

    found = review(opening)

    assert found.at("D").left_alone_mm == pytest.approx(4.6, abs=0.005)
    assert found.verdict == "carry_on"
    assert "Strake 2 wants 4.60 at D, planned 5.00: make it to the gap." in found.sentence
    assert heading(found) == "4.60 at D is what the gap leaves for strake 2, planned 5.00: make it to the gap."


def test_strake_cut_proud_with_others_left_takes_their_room() -> None:
    """15.00 of gap for three of 5.00, one of them cut 5.15: the other two have 9.85."""
    found = review(opening_of(15.0, states="ooc", widths={"3": 5.15}))

    assert found.at("D").to_take_up_mm == pytest.approx(0.15, abs=0.005)
    assert "take 0.15 more than the gap has at D" in heading(found)


@pytest.mark.parametrize(
    ("states", "widths", "over_all"),
    [("hch", {"2": 5.2}, 0.5), ("hco", {"2": 5.0}, 0.2), ("ooc", {"3": 5.0}, 0.7)],
    ids=["the last, trimmed to the gap", "cut, and one to come", "the two to come"],
)
def test_eye_forgives_a_share_of_what_can_still_be_cut(states: str, widths: dict[str, float], over_all: float) -> None:
    """4 % of 5.00 for a strake, 10 % for the closing one: 0.20 and 0.50; one cut with others left gives none."""
    assert review(opening_of(5.0, states=states, widths=widths)).at("D").capacity_mm == pytest.approx(over_all)


@pytest.mark.parametrize("zero_mm", [0.0, 0.08])
def test_closed_compares_widths_with_their_zeros_taken_off(zero_mm: float) -> None:
    """The neighbours were read on a caliper that reads 0.08 too much, the closing strake on another."""
    opening = opening_of(
        5.0,
        states="hhh",
        epochs=(Epoch("A", "A", 0.02, 0.05), Epoch("B", "B", 0.02, 0.0)),
        zero_checks=(ZeroCheck("A", zero_mm, 0.0),),
    )
    read = tuple(
        WidthReading(label, "D", 5.0 + (zero_mm if label != "2" else 0.0), "B" if label == "2" else "A")
        for label in "123"
    )

    assert review(replace(opening, widths=read)).sentence.endswith("Strake 2 is within 0.00 of its neighbours at D.")


def test_no_width_below_nought_is_ever_said() -> None:
    """A gap of 1.00 for three of 5.00: left alone the closing strake would have to be 1 - 10 = -9."""
    found = review(opening_of(1.0))

    told = [found.sentence, found.at("D").sentence, heading(found)]
    assert found.verdict == "change_plan"
    assert all("−" not in one.replace("(of it", "") for one in told[1:])
    assert "Strake 2 left alone: no room at D, planned 5.00" in found.sentence
    assert "left alone, strake 2 would have no room, planned 5.00" in heading(found)


def test_parts_in_the_sentence_hold_what_all_readings_weighed_add() -> None:
    """Where the ledger says otherwise than the last gap, the parts named still come to the shortage named."""
    opening = opening_of(
        9.9,
        states="hoo",
        widths={"1": 5.0},
        gaps=(GapReading("D", 9.7, frozenset({"1"}), 0.05), GapReading("D", 9.5, frozenset({"1"}), 0.05)),
        girths=(GirthReading("D", 14.6, 0.05),),
        girth_planned_mm={"D": 15.0},
    )

    found = review(opening)

    parts = found.sentence.partition("(")[2].partition(")")[0].removeprefix("of it ")
    added = sum(float(part.rsplit(" ", 1)[1].replace("−", "-")) for part in parts.split(", "))
    assert found.at("D").parts.weighed_mm
    assert added == pytest.approx(found.at("D").short_mm, abs=0.0051)


def test_figures_told_as_a_change_are_the_difference_of_those_shown() -> None:
    """4.996 and 4.914 are shown as 5.00 and 4.91: what is told is 0.09, not the 0.08 that 0.082 rounds to."""
    opening = opening_of(3 * 4.914)
    plan = tuple(replace(one, planned_mm={"D": 4.996}) for one in opening.strakes)

    told = review(replace(opening, strakes=plan, limits=Limits(step_share=0.001)))

    assert "each is 0.09 narrower: 4.91 each" in told.at("D").sentence
    assert "each is 0.09 narrower" in heading(told)


def test_stealer_is_not_counted_among_the_strakes() -> None:
    """Three strakes at D and a stealer at F alone, which hangs as one of them does: 1 hung and 2 left, not 2 and 2."""
    opening = opening_of(10.0, states="ooh")
    three = tuple(replace(one, planned_mm={"F": 4.0, "D": 5.0}) for one in opening.strakes)
    stealer = Strake("3a", "wale", {"F": 4.0}, state="hung")

    hull = replace(
        opening, stations=(Station("F"), Station("D")), strakes=(*three, stealer), dead_flat="D", gaps=(), widths=()
    )

    assert gap_check_sentence(hull, ("F", "D")) == "Read the gap at every station: 1 strake hung, 2 left."
