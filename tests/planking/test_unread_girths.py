"""A girth that was planned and never read is no reading: what the gaps say together counts, one gap alone does not."""

from dataclasses import replace

import pytest

from planking import estimate
from planking.drift import review
from planking.opening import GapReading, GirthReading, Opening, Station, Strake

STATIONS = (Station("F", -100.0), Station("M", 0.0), Station("A", 100.0))


def fives(*readings: dict[str, float], **facts: object) -> Opening:
    """Five strakes of 5.00 planned on a girth of 25.00, no seams; each of ``readings`` is one round of gaps."""
    runs = {"1": "keel", "2": "keel", "3": "closing", "4": "wale", "5": "wale"}
    strakes = tuple(Strake(label, run, {one.name: 5.0 for one in STATIONS}) for label, run in runs.items())
    gaps = tuple(GapReading(at, mm, frozenset(), 0.1) for one in readings for at, mm in one.items())
    given = {"seam_mm": 0.0, "u_seam_mm": 0.0, "girth_planned_mm": {one.name: 25.0 for one in STATIONS}} | facts
    return Opening("port", STATIONS, strakes, gaps=gaps, **given)


def everywhere(mm: float) -> dict[str, float]:
    return {one.name: mm for one in STATIONS}


def room_of(opening: Opening) -> list[float]:
    return [float(mean) for mean in estimate.room(estimate.ledger(opening)).mean]


def test_a_planned_girth_and_a_gap_near_it_are_weighed_by_their_doubts() -> None:
    """(25.00 / 0.25^2 + 24.80 / 0.10^2) / (1 / 0.25^2 + 1 / 0.10^2) = 24.8276, by hand: the weighted mean."""
    assert room_of(fives(everywhere(24.8))) == pytest.approx([24.8276] * 3, abs=0.001)


@pytest.mark.parametrize("gap_mm", [24.0, 10.0, 26.0])
def test_gaps_that_together_contradict_it_are_believed(gap_mm: float) -> None:
    opening = fives(everywhere(gap_mm))

    solved = estimate.ledger(opening)

    assert solved.girth_let_go == ("F", "M", "A")
    assert solved.slips == ()
    assert room_of(opening) == pytest.approx([gap_mm] * 3, abs=0.01)
    told = [note for note in review(opening).notes if note.kind == "disagreement"]
    way = "less" if gap_mm < 25 else "more"
    assert [note.sentence for note in told] == [
        f"No girth was read, and the gaps together say it is {abs(gap_mm - 25):.2f} {way} than planned at F: "
        "the gaps count. Read the girths to know why."
    ]
    assert told[0].value_mm == pytest.approx(gap_mm - 25, abs=0.01)
    assert told[0].doubt_mm == pytest.approx(0.1, abs=0.005)


def test_one_gap_alone_that_stands_off_is_a_slip() -> None:
    solved = estimate.ledger(fives(everywhere(25.0) | {"M": 23.5}))

    assert solved.girth_let_go == ()
    assert solved.slips == (("gap", "M"),)


def test_half_of_the_gaps_are_not_most_of_them() -> None:
    two = replace(fives({"F": 25.0, "M": 23.5}), stations=STATIONS)

    assert estimate.ledger(two).girth_let_go == ()


def test_gaps_off_to_both_sides_leave_the_girth_where_it_is() -> None:
    assert estimate.ledger(fives({"F": 23.5, "M": 25.0, "A": 26.5})).girth_let_go == ()


def test_a_girth_that_was_read_is_not_let_go() -> None:
    read = tuple(GirthReading(one.name, 25.0, 0.07) for one in STATIONS)

    solved = estimate.ledger(fives(everywhere(23.0), girths=read))

    assert solved.girth_let_go == ()
    assert {name for name, _at in solved.slips} == {"gap"}


def test_only_the_stations_where_none_was_read_let_it_go() -> None:
    solved = estimate.ledger(fives(everywhere(23.0), girths=(GirthReading("F", 23.0, 0.07),)))

    assert solved.girth_let_go == ("M", "A")


def test_of_a_gap_read_twice_the_second_is_believed() -> None:
    again, before = fives(everywhere(24.5), everywhere(24.0)), fives(everywhere(24.0), everywhere(24.5))

    assert room_of(again) == pytest.approx([24.0] * 3, abs=0.01)
    assert room_of(before) == pytest.approx([24.5] * 3, abs=0.01)
    assert [name for name, _at in estimate.ledger(again).slips] == ["gap", "gap", "gap"]
