"""The butterfly: bars to one scale on both sides, wide and narrow by fill, joined only past the limit."""

import pytest

from buildlog.pictures.butterfly import Wings, butterfly
from tests.buildlog.pictures.drawn_hulls import HOSTILE, assert_clear, assert_sound, elements, words_of

WINGS = (Wings("18", 0.05, -0.01), Wings("17", -0.08, 0.10, joined=True), Wings("16", None, 0.02))


def pictured(wings=WINGS, width=548):
    return butterfly(wings, width, summary="strakes")


def test_bars_grow_outwards_to_one_scale():
    bars = [float(bar.get("width")) for bar in elements(pictured(), "rect", "p-outline")][:5]

    off = [width / bars[0] * 0.05 for width in bars]
    assert off == pytest.approx([0.05, 0.01, 0.08, 0.10, 0.02], abs=0.002)


def test_wide_and_narrow_differ_by_fill_hatch_and_sign():
    picture = pictured()

    # Each once more in the key.
    assert len(elements(picture, "rect", "p-w2")) == 3 + 1
    assert len(elements(picture, "rect", "p-n2")) == 2 + 1
    assert {"+0.05 ■", "−0.08 ■", "● −0.01", "● +0.10"} <= {words for words, _x, _y in words_of(picture)}


def test_only_strakes_past_the_limit_are_joined():
    # One across the strake, one in the key.
    assert len(elements(pictured(), "line", "p-line-dash")) == 2
    assert elements(pictured(WINGS[:1]), "line", "p-line-dash") == []


@pytest.mark.parametrize("width", [328, 548])
def test_words_keep_clear_and_stay_inside(width):
    picture = pictured((*WINGS, Wings(HOSTILE, 4.0, -4.0)), width)

    assert_sound(picture)
    assert_clear(picture)


def test_nothing_to_draw_and_no_number_are_refused():
    with pytest.raises(ValueError, match="one strake"):
        pictured(())
    with pytest.raises(ValueError, match="Strake 4"):
        Wings("4", float("inf"), 0.0)
