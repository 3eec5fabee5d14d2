"""How far apart, the QR code, and the patterns."""

import pytest
import segno
from hypothesis import given, settings
from hypothesis import strategies as st

from buildlog.pictures.how_far import HowFar, how_far
from buildlog.pictures.patterns import ALL, patterns
from buildlog.pictures.qr import QUIET, qr
from buildlog.pictures.strip import Plank, Side
from tests.buildlog.pictures.drawn_hulls import (
    HOSTILE,
    NAMES,
    assert_clear,
    assert_sound,
    elements,
    words_of,
)


def days(*openings):
    planks = [
        tuple(Plank(4.5, "hung" if index not in left else "open", index == 6) for index in range(18))
        for left in openings
    ]
    return [HowFar(f"day {number}", Side("port", (row,))) for number, row in enumerate(planks, 1)]


@pytest.mark.parametrize("width", [328, 720, 1178])
def test_how_far_brackets_the_gap_of_each_day_to_scale(width):
    picture = how_far(days({5, 6, 7}, {6}), width, summary="how far")

    brackets = [path.get("d") for path in elements(picture, "path", "p-bracket")]
    lengths = [float(d.split("H")[1].split("m")[0]) - float(d[1:].split()[0]) + 1.6 for d in brackets]
    assert lengths == pytest.approx([width * 3 / 18, width / 18], abs=0.3)
    said = [words for words, _x, _y in words_of(picture)]
    assert said == ["day 1", "day 2", "keel", "wale"]
    assert_clear(picture)


@settings(deadline=None, max_examples=40)
@given(titles=st.lists(NAMES, min_size=1, max_size=4), width=st.sampled_from([328, 720]))
def test_no_title_breaks_how_far(titles, width):
    side = Side("starboard", ((Plank(None, "before_log"), Plank(None, "next"), Plank(None, "open", True)),))

    picture = how_far([HowFar(title, side) for title in titles], width, summary=HOSTILE)

    assert_sound(picture)
    assert_clear(picture)


def test_how_far_refuses_no_days():
    with pytest.raises(ValueError, match="one day"):
        how_far([], summary="none")


@given(text=st.text(min_size=1, max_size=80))
@settings(deadline=None, max_examples=40)
def test_qr_draws_every_dark_module_of_segno_and_no_other(text):
    picture = qr(text, summary="link")

    wanted = {
        (x + QUIET, y + QUIET)
        for y, row in enumerate(segno.make(text, error="q", micro=False).matrix)
        for x, dark in enumerate(row)
        if dark
    }
    drawn = set()
    for piece in elements(picture, "path", "p-qr")[0].get("d").split("z")[:-1]:
        place, length = piece[1:].split("v")[0].split("h")
        x, y = (int(figure) for figure in place.split())
        drawn |= {(x + step, y) for step in range(int(length))}
    assert drawn == wanted
    assert_sound(picture)


def test_qr_of_a_link_keeps_the_clear_ground_and_its_size():
    picture = qr("https://example.org/s/abcdefghijklmnopqrstuv", summary="link")

    # Version 4 is 33 modules a side (ISO/IEC 18004), and four clear modules stand on each hand.
    assert picture.width == 33 + 8


def test_qr_refuses_a_text_that_is_too_long():
    with pytest.raises(ValueError, match="too long"):
        qr("x" * 5000, summary="long")


def test_patterns_have_the_ids_the_fills_ask_for():
    made = patterns("map", ALL)

    assert [f'id="hatch-{name}-map"' in made for name in ALL] == [True] * len(ALL)
    assert "style" not in made
    assert patterns("map", ()) == ""
