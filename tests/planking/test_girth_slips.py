"""A girth that was misread: the gap there and the plan agree, so the girth is asked for again and not the gap."""

from dataclasses import replace

import pytest

from planking.drift import review
from planking.estimate import ledger
from planking.opening import GapReading, Opening
from tests.planking.brig import brig


def with_girth_off(by_mm: float, *, gaps_more: int = 0) -> Opening:
    """The invented brig, port, with the girth at dead flat misread by so much, and its gap read so often more."""
    opening = brig("port")
    girths = tuple(
        replace(one, girth_mm=one.girth_mm + by_mm) if one.station == "DF" else one for one in opening.girths
    )
    hung = frozenset(one.label for one in opening.strakes if one.is_hung)
    (gap,) = [one for one in opening.gaps if one.station == "DF"]
    more = tuple(GapReading("DF", gap.gap_mm + 0.01 * number, hung, 0.05) for number in range(gaps_more))
    return replace(opening, girths=girths, gaps=(*opening.gaps, *more))


@pytest.mark.parametrize("gaps_more", [0, 1, 4])
@pytest.mark.parametrize("by_mm", [40.0, 2.0, -2.0])
def test_misread_girth_changes_no_verdict_and_is_asked_for_by_name(by_mm: float, gaps_more: int) -> None:
    found, sound = review(with_girth_off(by_mm, gaps_more=gaps_more)), review(with_girth_off(0.0, gaps_more=gaps_more))

    assert [one.verdict for one in found.stations] == [one.verdict for one in sound.stations]
    for one, other in zip(found.stations, sound.stations, strict=True):
        assert one.left_alone_mm == pytest.approx(other.left_alone_mm, abs=0.02)
        # Every other girth goes on counting as it was read; this one as planned.
        assert one.parts.girth_mm == (0.0 if one.station == "DF" else other.parts.girth_mm)
    said = [note.sentence for note in found.notes if "again" in note.sentence]
    way = "over" if by_mm > 0 else "under"
    assert len(said) == 1
    assert said[0].startswith("Read the girth at dead flat again: ")
    assert f" is {abs(by_mm):.2f} {way} its plan, and the gap there agrees with the plan." in said[0]


def test_girth_a_little_off_its_plan_counts() -> None:
    """0.15 mm is what frames differ by; the gap bears it out or the seams do."""
    assert ledger(with_girth_off(0.15)).girth_slips == ()


def test_gap_far_off_where_the_girth_is_as_planned_is_the_gap_s_fault() -> None:
    opening = brig("port")
    gaps = tuple(replace(one, gap_mm=one.gap_mm + 2) if one.station == "DF" else one for one in opening.gaps)

    solved = ledger(replace(opening, gaps=gaps))

    assert solved.girth_slips == ()
    assert set(solved.slips) == {("gap", "DF")}


def test_girth_and_gap_that_are_off_together_are_believed() -> None:
    """A frame that really is 2 mm fuller: its girth says so, and so does its gap."""
    opening = with_girth_off(2.0)
    gaps = tuple(replace(one, gap_mm=one.gap_mm + 2) if one.station == "DF" else one for one in opening.gaps)

    solved = ledger(replace(opening, gaps=gaps))

    assert (solved.girth_slips, solved.slips) == ((), ())


def test_without_a_gap_nothing_says_that_a_girth_is_misread() -> None:
    assert ledger(replace(with_girth_off(2.0), gaps=())).girth_slips == ()
