"""Numbered marks over a photograph."""

import re
from pathlib import Path

import pytest

from buildlog.pictures.photo_marks import DISC, SHOWN, PhotoMark, photo_marks


@pytest.mark.parametrize("shown", SHOWN)
def test_marks_stand_where_they_were_put_and_keep_their_size(shown):
    picture = photo_marks([PhotoMark(1, 0.5, 0.5, 0.25, 0.75)], 1600, 1120, shown=shown, summary="1 free edge")

    assert f'cx="{shown / 2:g}"' in picture.svg
    assert 'r="13"' in picture.svg
    assert picture.height == pytest.approx(shown * 0.7)


def test_a_mark_outside_the_photograph_is_refused():
    with pytest.raises(ValueError, match="Mark 3 lies outside"):
        PhotoMark(3, 1.2, 0.5, 0.5, 0.5)


def test_a_disc_is_never_shown_smaller_than_it_can_be_read():
    """Each cut is drawn no wider than the narrowest place that shows it, so scaling only makes a disc larger."""
    css = (Path(__file__).parents[3] / "static/css/reckoner.css").read_text("utf-8")
    from_width = {
        name: int(width)
        for width, name in re.findall(r"@container \(min-width: (\d+)px\) { \.(cut-\d+) { display: block", css)
    }
    narrowest = (280, from_width["cut-560"], from_width["cut-760"])

    assert [2 * DISC * place / shown >= 26 for place, shown in zip(narrowest, SHOWN, strict=True)] == [True] * 3


def test_arrow_has_barbs_at_the_thing_and_no_disc():
    picture = photo_marks([PhotoMark(1, 0.1, 0.5, 0.9, 0.5, "arrow")], 1000, 1000, shown=280, summary="")

    assert "<circle" not in picture.svg
    line = re.search(r'class="p-leader" d="([^"]+)"', picture.svg)[1]
    assert line.startswith("M28 140L252 140")
    barbs = [(float(x), float(y)) for x, y in re.findall(r"M252 140L([\d.]+) ([\d.]+)", line)]
    assert [round(x) for x, _y in barbs] == [241, 241]
    assert sorted(round(y - 140, 1) for _x, y in barbs) == [-6.7, 6.7]


def test_ring_goes_round_the_thing():
    picture = photo_marks([PhotoMark(1, 0.1, 0.5, 0.5, 0.5, "ring")], 1000, 1000, shown=280, summary="")

    assert "M116 140a24 24 0 1 0 48 0a24 24 0 1 0 -48 0" in picture.svg


def test_kind_that_nobody_can_draw_is_refused():
    with pytest.raises(ValueError, match="Mark 2 is of no kind"):
        PhotoMark(2, 0, 0, 0, 0, "flag")
