"""The sheet: escaping, boxes, spreading, the cuts."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.pictures.drawing import Box, Drawing, half_cuts, number, spread, three_cuts
from tests.buildlog.pictures.drawn_hulls import HOSTILE, assert_sound, words_of


@given(words=st.text(max_size=60))
def test_any_words_come_back_as_they_were_typed_and_break_nothing(words):
    drawing = Drawing(400, "sheet")
    drawing.text("p-label", 10, 20, words + HOSTILE)

    picture = drawing.picture(40, words)

    assert_sound(picture)
    assert words_of(picture)[0][0].endswith(HOSTILE)


@given(key=st.text(max_size=20))
def test_the_id_of_a_picture_can_be_no_markup(key):
    picture = Drawing(10, key).picture(10, "a sheet")

    assert_sound(picture)
    assert 'id=""' not in picture.svg


def test_words_cut_short_keep_their_whole_in_a_title():
    drawing = Drawing(400, "sheet")
    drawing.text("p-label", 0, 20, "Bulkhead twenty-three & a half", room=60)

    svg = drawing.picture(40, "long").svg

    assert "<title>Bulkhead twenty-three &amp; a half</title>" in svg
    assert "…</text>" in svg


@pytest.mark.parametrize(
    ("value", "text"),
    [(1, "1"), (1.04, "1"), (-0.02, "0"), (12.35, "12.3"), (-3.25, "-3.2"), (1e6, "1000000")],
)
def test_number_is_short(value, text):
    assert number(value) == text


@pytest.mark.parametrize(
    ("other", "touches"),
    [
        (Box(10, 0, 20, 10), False),
        (Box(9.9, 0, 20, 10), True),
        (Box(0, 10, 10, 20), False),
        (Box(2, 2, 3, 3), True),
        (Box(-5, -5, 20, 20), True),
    ],
)
def test_boxes_touch_only_where_they_overlap(other, touches):
    assert Box(0, 0, 10, 10).touches(other) is touches


@given(
    places=st.lists(st.floats(-50, 450), min_size=1, max_size=12),
    size=st.floats(5, 30),
)
def test_spread_labels_keep_their_order_and_never_overlap(places, size):
    middles = spread(places, [size] * len(places), 0, 400)

    ordered = [middle for _place, middle in sorted(zip(places, middles, strict=True))]
    assert all(after - before >= size - 1e-6 for before, after in pairwise(ordered))
    assert min(middles) >= size / 2 - 1e-6
    assert max(middles) <= 400 - size / 2 + 1e-6


def test_spread_leaves_labels_alone_that_have_room():
    assert spread([20.0, 200.0, 100.0], [10, 10, 10], 0, 400) == [20.0, 200.0, 100.0]


def test_cuts_stand_narrow_first_each_in_its_own_box():
    pictures = [Drawing(width, f"p-{width}").picture(10, "one") for width in (328, 720, 1178)]

    cuts = three_cuts(pictures)

    assert [cuts.index(f'<div class="{name}"><svg') for name in ("cut-328", "cut-760", "cut-1178")] == sorted(
        cuts.index(picture.svg) - len(f'<div class="{name}">')
        for name, picture in zip(("cut-328", "cut-760", "cut-1178"), pictures, strict=True)
    )
    halves = half_cuts(*pictures[:2])
    assert halves.index('class="cut-328"') < halves.index('class="cut-560"')
