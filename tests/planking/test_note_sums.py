"""Every note that says a figure opens its sum, and each sum adds up as it is shown."""

from dataclasses import replace

import pytest

from planking.drift import review
from planking.habit import habit
from planking.note_sums import RunStrake, chart_sum, scatter_sum, slip_sum
from planking.reviewed import SumLine
from tests.planking.brig import DATA, brig


def totals_of(lines: tuple[SumLine, ...]) -> list[tuple[float, float]]:
    """What each total says, and what its terms add to as they are shown."""
    found, added = [], 0.0
    for line in lines:
        if line.kind == "heading":
            added = 0.0
        elif line.kind == "term":
            added += float(line.shown.replace("−", "-"))
        elif line.kind == "total":
            found.append((float(line.shown.replace("−", "-")), added))
    return found


@pytest.mark.parametrize("side", ["port", "starboard"])
@pytest.mark.parametrize("hung", [3, 5, 9, 14])
def test_notes_of_the_brig_add_up_as_shown(side: str, hung: int) -> None:
    told = [note for note in review(brig(side, hung=hung)).notes if note.kind in ("habit", "one_sign")]

    sums = [pair for note in told for pair in totals_of(note.sum)]
    assert all(note.sum for note in told)
    assert all(says == pytest.approx(adds, abs=1e-9) for says, adds in sums)


def test_habit_of_the_side_belt_is_the_sum_of_its_strakes() -> None:
    """The five strakes of the side belt at dead flat, from the invented table: 0.29 together."""
    (note,) = [one for one in review(brig("port")).notes if one.kind == "habit"]

    said = [line.shown for line in note.sum if line.kind == "total"]
    assert said[:2] == ["0.34", "0.29"]
    assert "together 0.34 at M, 0.29 at dead flat" in note.sentence


def test_chart_shows_each_score_and_both_sums() -> None:
    """Eight strakes of 0.09: the chart's own figures, and its alarm at the fifth (test_habit)."""
    off = [0.09] * 8
    lines = chart_sum([RunStrake(str(index), value, {}) for index, value in enumerate(off)], habit(off))

    fifth = lines[5].words
    assert fifth.startswith("Strake 4: wide by 0.09, score ")
    high = float(fifth.split("wide ")[-1].split(",")[0])
    scores = [float(line.words.split("score ")[1].split(";")[0]) for line in lines[1:6]]
    # To the rounding of five scores and the sum.
    assert high == pytest.approx(sum(scores) - 5 * 0.417, abs=0.03)
    assert high > 4.80
    assert lines[6].words.endswith("narrow 0.00.")


def test_slip_is_what_it_stands_off_the_line_between_its_neighbours() -> None:
    """A quarter of the way from 0.00 to 0.08 the line is at 0.02; 0.50 stands 0.48 off it."""
    lines = slip_sum(("A", "B", "C"), (0.0, 0.5, 0.08), 0.25, 0.05, 3.5)

    assert [line.shown for line in lines if line.kind in ("term", "total")] == ["0.50", "−0.02", "0.48"]
    assert lines[-1].words == (
        "B lies 0.25 of the way from A to C. It is told beyond 3.5 of its doubt of 0.05, which is 0.18."
    )


def test_scatter_adds_by_the_squares() -> None:
    lines = scatter_sum(0.09**2, 0.12**2, 8, 0.09)

    assert [line.shown for line in lines if line.kind in ("term", "total")] == ["0.09", "0.12", "0.15"]


def test_gaps_and_widths_that_disagree_show_every_station() -> None:
    opening = brig("starboard")
    apart = replace(
        opening,
        gaps=tuple(replace(gap, gap_mm=gap.gap_mm + 0.9) for gap in opening.gaps),
        epochs=tuple(replace(one, u_zero_mm=0.001) for one in opening.epochs),
    )

    (note,) = [one for one in review(apart).notes if one.kind == "disagreement"]

    stations = [line.words for line in note.sum if line.words.startswith("At ")]
    assert len(stations) == len(DATA["stations"])
    for words in stations:
        read, foretold, off = (float(part.replace("−", "-")) for part in _figures(words))
        assert off == pytest.approx(read - foretold, abs=0.0101)
    assert note.sum[-1].words.startswith("The mean is ")
    assert "beyond 2.576 of its doubt" in note.sum[-1].words


def _figures(words: str) -> list[str]:
    said = words.split(" ", 2)[2] if not words.startswith("At dead flat") else words.split(" ", 3)[3]
    read, rest = said.split(" less ")
    foretold, rest = rest.split(" is ")
    return [read, foretold, rest.split(",")[0]]
