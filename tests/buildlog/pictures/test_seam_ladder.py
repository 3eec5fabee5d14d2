"""The seam-height ladder: one rung a seam, dots on one scale, port to the left, what is seen ringed."""

import pytest

from buildlog.pictures.seam_ladder import Rung, RungDot, seam_ladder
from tests.buildlog.pictures.drawn_hulls import HOSTILE, assert_clear, assert_sound, elements, words_of

RUNGS = (
    Rung("18", "wale", (RungDot("D", 0.02), RungDot("FH", -0.01, at_end=True))),
    Rung("17", "wale", (RungDot("D", 0.31), RungDot("FH", 0.05, at_end=True))),
    Rung("1", "keel", (RungDot("D", -0.12),)),
)


def ladder(rungs=RUNGS, width=548):
    return seam_ladder(rungs, width, limit_mm=0.5, limit_at_ends_mm=0.3, summary="seams")


def said(picture) -> list[str]:
    return [words for words, _x, _y in words_of(picture)]


def test_port_lies_left_of_nought_and_starboard_right_to_one_scale():
    picture = ladder()

    nought = float(elements(picture, "line", "p-axis")[0].get("x1"))
    dots = [float(dot.get("cx")) for dot in elements(picture, "circle", "p-point")][:3]
    off = [x - nought for x in dots]
    assert off[0] < 0 < off[2]
    assert off[1] / off[0] == pytest.approx(0.31 / 0.02, rel=0.05)
    assert off[2] / off[1] == pytest.approx(-0.12 / 0.31, rel=0.02)


def test_band_is_what_the_eye_forgives():
    picture = ladder()

    band = elements(picture, "rect", "p-limit")[0]
    nought = float(elements(picture, "line", "p-axis")[0].get("x1"))
    farthest = min(float(dot.get("cx")) for dot in elements(picture, "circle", "p-point"))
    assert float(band.get("width")) / 2 / (nought - farthest) == pytest.approx(0.5 / 0.31, rel=0.01)


def test_farthest_seam_is_named_and_only_what_is_seen_is_ringed():
    assert "D 0.31" in said(ladder())
    assert elements(ladder(), "circle", "p-ring") == []
    seen = (Rung("18", "wale", (RungDot("D", 0.9, is_seen=True), RungDot("M", 0.1))),)
    assert len(elements(ladder(seen), "circle", "p-ring")) == 1
    assert "D 0.90" in said(ladder(seen))


@pytest.mark.parametrize("width", [328, 548])
def test_words_keep_clear_and_stay_inside(width):
    picture = ladder(RUNGS + tuple(Rung(HOSTILE, "keel", (RungDot(HOSTILE, 3.0),)) for _ in range(2)), width)

    assert_sound(picture)
    assert_clear(picture)


def test_nothing_to_draw_and_no_number_are_refused():
    with pytest.raises(ValueError, match="one seam"):
        ladder(())
    with pytest.raises(ValueError, match="The seam at D"):
        RungDot("D", float("nan"))
