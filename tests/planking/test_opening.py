"""What an opening refuses: each a sentence with the name of the field at fault."""

import math
from dataclasses import replace

import pytest

from planking.errors import PlankingError
from planking.opening import (
    EdgeReading,
    Epoch,
    GapReading,
    GirthReading,
    Limits,
    Opening,
    Station,
    Strake,
    WidthReading,
    ZeroCheck,
)

CALIPER = Epoch("A", "caliper", 0.02, 0.02)


def opening(**facts: object) -> Opening:
    strakes = tuple(
        Strake(
            str(n),
            "wale",
            {"D": 5.0, "E": 5.0},
            state="hung" if n > 2 else "open",
            hung_order=n if n > 2 else None,
        )
        for n in (1, 2, 3, 4)
    )
    given = {"strakes": strakes, "epochs": (CALIPER,)} | facts
    return Opening("port", (Station("D", 0.0), Station("E", 50.0)), **given)


HOSTILE = {
    "no station": (lambda: Opening("port", (), ()), "stations"),
    "station twice": (lambda: Opening("port", (Station("D"), Station("D")), ()), "stations"),
    "stations not in order": (lambda: Opening("port", (Station("D", 5.0), Station("E", 1.0)), ()), "x_mm"),
    "strake twice": (lambda: opening(strakes=(Strake("1", "wale", {}), Strake("1", "wale", {}))), "strakes"),
    "two strakes hung at once": (
        lambda: opening(
            strakes=tuple(Strake(one, "wale", {"D": 5.0}, state="hung", hung_order=1) for one in "12")
        ),
        "hung_order",
    ),
    "width that is not a number": (lambda: Strake("1", "wale", {"D": math.nan}), "planned_mm"),
    "width less than nought": (lambda: Strake("1", "wale", {"D": -1.0}), "planned_mm"),
    "run that is none": (lambda: Strake("1", "bow", {}), "run"),
    "width at no station": (lambda: opening(strakes=(Strake("1", "wale", {"X": 5.0}),)), "planned_mm"),
    "reading that is not a number": (
        lambda: opening(widths=(WidthReading("3", "D", math.nan, "A"),)),
        "width_mm",
    ),
    "reading without end": (lambda: opening(gaps=(GapReading("D", math.inf, frozenset(), 0.1),)), "gap_mm"),
    "huge reading": (lambda: opening(widths=(WidthReading("3", "D", 1e9, "A"),)), "width_mm"),
    "strake read twice": (lambda: opening(widths=(WidthReading("3", "D", 5.0, "A"),) * 2), "widths"),
    "unknown strake": (lambda: opening(widths=(WidthReading("9", "D", 5.0, "A"),)), "strake"),
    "unknown station": (lambda: opening(gaps=(GapReading("X", 9.0, frozenset(), 0.1),)), "station"),
    "unknown epoch": (lambda: opening(widths=(WidthReading("3", "D", 5.0, "Z"),)), "epoch"),
    "unknown strake in a gap": (lambda: opening(gaps=(GapReading("D", 9.0, frozenset("9"), 0.1),)), "strake"),
    "doubt less than nought": (lambda: opening(gaps=(GapReading("D", 9.0, frozenset(), -0.1),)), "u_mm"),
    "edge of an unknown strake": (
        lambda: opening(edges=(EdgeReading("wale", "9", "D", 5.0, 0.1),)),
        "strake",
    ),
    "zero that is not a number": (
        lambda: opening(zero_checks=(ZeroCheck("A", math.nan, 0.01),)),
        "offset_mm",
    ),
    "girth smaller than what is hung": (
        lambda: opening(
            girths=(GirthReading("D", 8.0, 0.1),),
            widths=(WidthReading("3", "D", 5.0, "A"), WidthReading("4", "D", 5.0, "A")),
        ),
        "girth_mm",
    ),
    "limits that forbid the plan": (lambda: Limits(widest_share=0.9), "narrowest_share"),
    "share of nothing": (lambda: Limits(step_share=0.0), "step_share"),
}


@pytest.mark.parametrize("case", HOSTILE)
def test_opening_refuses_with_the_field_at_fault(case: str) -> None:
    make, field = HOSTILE[case]

    with pytest.raises(PlankingError) as caught:
        make()

    assert caught.value.field == field
    assert str(caught.value)[0].isupper()
    assert str(caught.value).endswith(".")


def test_seams_are_one_more_than_strakes_where_both_lines_are_tight() -> None:
    one = opening()

    assert (one.seams_in_all("D"), one.seams_hung("D")) == (5, 2)
    assert one.seams_hung("D", frozenset("1234")) == 5
    assert one.seams_hung("D", frozenset()) == 0
    assert replace(one, wale_line_tight=False).seams_hung("D") == 1
    assert replace(one, wale_line_tight=False).seams_in_all("D") == 4


def test_a_run_from_the_keel_counts_its_own_seams() -> None:
    one = opening()

    assert one.seams_hung("D", frozenset("14")) == 2
    assert one.seams_hung("D", frozenset("2")) == 0


def test_facts_cannot_be_changed_after_they_are_made() -> None:
    with pytest.raises(TypeError):
        opening().strakes[0].planned_mm["D"] = 1.0
