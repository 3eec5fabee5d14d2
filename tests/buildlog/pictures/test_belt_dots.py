"""Habit or luck: a dot a station, a tick at the mean, a band for the limit."""

import itertools
from xml.etree import ElementTree

import pytest

from buildlog.pictures.belt_dots import StrakeDots, belt_dots

BELT = [StrakeDots("14", (0.07, 0.05, 0.06)), StrakeDots("13", (-0.01, 0.06)), StrakeDots("12a", ())]


@pytest.mark.parametrize("width", [328, 548])
def test_every_reading_is_a_dot_and_every_strake_read_has_its_mean(width):
    """(0.07 + 0.05 + 0.06) / 3 = 0.06."""
    picture = belt_dots(BELT, 0.18, width, summary="Side belt: wide by 0.34 at M.")

    ElementTree.fromstring(picture.svg)
    assert 'aria-label="Side belt: wide by 0.34 at M."' in picture.svg
    assert picture.svg.count('class="p-point"') == 5
    assert picture.svg.count('class="p-measured"') == 2
    assert ">+0.06<" in picture.svg
    assert [a for a, b in itertools.combinations(picture.boxes, 2) if a.touches(b)] == []


def test_nothing_read_and_no_number_are_refused():
    with pytest.raises(ValueError, match="was read"):
        belt_dots([StrakeDots("9", ())], 0.1, summary="s")
    with pytest.raises(ValueError, match="Strake 9"):
        StrakeDots("9", (float("nan"),))
