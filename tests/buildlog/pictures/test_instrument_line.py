"""The zero of an instrument over time: checks, crosses, hatching, and the days it was read with."""

import itertools
from datetime import date
from xml.etree import ElementTree

import pytest

from buildlog.pictures.instrument_line import Check, InstrumentLine, instrument_line

LINE = InstrumentLine(
    first=date(2025, 2, 1), last=date(2026, 2, 14), checks=(Check(date(2026, 1, 31), 0.08),),
    moved=(date(2025, 6, 21),), doubts=((date(2025, 6, 21), date(2026, 1, 31)),),
    sessions=(date(2025, 3, 1), date(2025, 6, 28)),
)  # fmt: skip


@pytest.mark.parametrize("width", [328, 548])
def test_checks_doubt_and_sessions_are_drawn_and_no_labels_touch(width):
    picture = instrument_line(LINE, width, summary="Caliper A: 1 zero check.")

    ElementTree.fromstring(picture.svg)
    assert 'aria-label="Caliper A: 1 zero check."' in picture.svg
    assert ">+0.08<" in picture.svg
    assert picture.svg.count('<rect class="p-doubt"') == 2  # the span, and its place in the key
    assert picture.svg.count('<rect class="p-dot"') == len(LINE.sessions)
    assert f'fill="url(#hatch-doubt-instrument-{width})"' in picture.svg
    assert f'id="hatch-doubt-instrument-{width}"' in picture.svg
    assert [a for a, b in itertools.combinations(picture.boxes, 2) if a.touches(b)] == []


def test_doubt_that_still_stands_reaches_the_last_day():
    still = InstrumentLine(first=LINE.first, last=LINE.last, moved=LINE.moved, doubts=((LINE.moved[0], None),))

    assert instrument_line(still, 328, summary="s").svg.count('<rect class="p-doubt"') == 2


def test_time_that_runs_backwards_and_offsets_that_are_no_number_are_refused():
    with pytest.raises(ValueError, match="before the first"):
        InstrumentLine(first=LINE.last, last=LINE.first)
    with pytest.raises(ValueError, match="zero check"):
        Check(LINE.first, float("inf"))
