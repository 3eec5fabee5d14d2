"""The recut before and after, drawn: hollow plan, filled recut, a broken line for what is left alone."""

import itertools
from xml.etree import ElementTree

import pytest

from buildlog.pictures.recut_steps import RecutStrake, recut_steps, step_off_plan

WALE = RecutStrake("10", 4.70, 4.75, 4.75, hangs=True)
OPEN = [RecutStrake("9", 4.43, 4.33, 4.43), RecutStrake("7", 4.43, 4.33, 3.94), RecutStrake("5", 4.43, 4.33, 4.43)]


@pytest.mark.parametrize("width", [328, 720, 1178])
def test_every_strake_has_its_plan_and_its_new_width_and_no_labels_touch(width):
    picture = recut_steps([WALE, *OPEN], width, summary="The largest step is 0.15.")

    ElementTree.fromstring(picture.svg)
    assert 'role="img" aria-label="The largest step is 0.15."' in picture.svg
    assert picture.svg.count('class="p-bar"') == 1 + len(OPEN)
    assert picture.svg.count('<path class="p-line-dash"') == len(OPEN)
    assert picture.svg.count(">4.33<") == len(OPEN)
    assert [a for a, b in itertools.combinations(picture.boxes, 2) if a.touches(b)] == []


def test_step_is_told_between_neighbours_where_it_is_worth_a_word():
    """10 is 0.05 wide and 9 is 0.10 narrow of plan: 0.15; 9 and 7 are both 0.10 narrow: no step."""
    picture = recut_steps([WALE, *OPEN], 720, summary="s")

    assert step_off_plan(WALE, OPEN[0]) == pytest.approx(0.15)
    assert step_off_plan(OPEN[0], OPEN[1], alone=True) == pytest.approx(0.49)
    assert picture.svg.count("p-halo") == 1
    assert ">0.15<" in picture.svg


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan")])
def test_width_that_cannot_be_drawn_is_refused(bad):
    with pytest.raises(ValueError, match="width of 9"):
        RecutStrake("9", 4.4, bad, 4.4)


def test_recut_of_nothing_is_refused():
    with pytest.raises(ValueError, match="one strake"):
        recut_steps([], summary="s")
