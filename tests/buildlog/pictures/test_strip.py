"""The girth strip: to scale, keel first, starboard over port, each state its own look."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from buildlog.pictures.strip import Plank, Side, strip
from tests.buildlog.pictures.drawn_hulls import HOSTILE, assert_sound, elements

STATES = ("hung", "open", "next", "before_log")


def row(*widths, state="open"):
    return tuple(Plank(width, state) for width in widths)


@pytest.mark.parametrize(("width", "height"), [(1216, "27"), (360, "25")])
def test_strip_is_two_lines_of_the_desk_or_the_phone(width, height):
    sides = (Side("port", (row(4, 4),)), Side("starboard", (row(4, 4),)))

    picture = strip(sides, width, summary="two lines")

    assert f'viewBox="0 0 {width} {height}"' in picture.svg
    assert ' width="' not in picture.svg.split(">")[0].replace("viewBox", "")


def test_one_side_planked_is_one_line():
    assert 'viewBox="0 0 1216 12"' in strip((Side("port", (row(4, 4),)),), summary="one line").svg


@pytest.mark.parametrize("order", [("port", "starboard"), ("starboard", "port")])
def test_starboard_is_the_upper_line_with_a_circle_and_port_the_lower_with_a_square(order):
    hung = row(4, 4, 4, state="hung")

    picture = strip(tuple(Side(side, (hung,)) for side in order), summary="signs")

    circle, square = elements(picture, "circle", "p-sign")[0], elements(picture, "rect", "p-sign")[0]
    assert float(circle.get("cy")) < 12 < 15 < float(square.get("y"))


def test_every_strake_stands_at_its_planned_width():
    picture = strip((Side("port", (row(2, 4, 6),)),), 1216, summary="to scale")

    widths = [float(rect.get("width")) for rect in elements(picture, "rect", "p-open")]
    inset = 2 * (0.8 + 0.5)
    assert [width + inset for width in widths] == pytest.approx([1216 / 6, 1216 / 3, 1216 / 2], abs=0.2)


def test_planks_without_widths_are_equal():
    picture = strip((Side("port", (row(None, None, None, None),)),), 360, summary="no plan")

    assert len({rect.get("width") for rect in elements(picture, "rect", "p-open")}) == 1


def test_a_plank_without_a_width_is_drawn_as_the_mean_of_the_others():
    picture = strip((Side("port", (row(4, None, 2),)),), 1216, summary="one missing")

    widths = [float(rect.get("width")) + 2.6 for rect in elements(picture, "rect", "p-open")]
    assert widths[1] == pytest.approx((widths[0] + widths[2]) / 2, abs=0.2)


def test_states_are_drawn_each_its_own_way():
    planks = (
        Plank(4, "hung"),
        Plank(4, "before_log"),
        Plank(4, "next"),
        Plank(4, "open", closing=True),
        Plank(4, "hung"),
    )

    picture = strip((Side("port", (planks,)),), summary="states")

    assert len(elements(picture, "path", "p-plank")) == 1
    assert 'fill="url(#hatch-before-strip)"' in picture.svg
    assert 'id="hatch-before-strip"' in picture.svg
    assert len(elements(picture, "rect", "p-strip-next")) == 1
    assert len(elements(picture, "rect", "p-strip-closing")) == 1
    split = elements(picture, "path", "p-split")[0].get("d")
    assert float(split[1:].split()[0]) == pytest.approx(1216 * 3.5 / 5, abs=0.2)


@pytest.mark.parametrize(("count", "seams"), [(40, 39), (41, 8)])
def test_seams_are_ruled_each_fifth_where_there_are_more_than_forty_strakes(count, seams):
    picture = strip((Side("port", (row(*[4] * count, state="hung"),)),), summary="many")

    assert elements(picture, "path", "p-gap-seam")[0].get("d").count("M") == seams


def test_openings_are_parted_by_a_post_of_six():
    picture = strip((Side("port", (row(4, 4), row(4, 4))),), summary="two openings")

    post = elements(picture, "rect", "p-post")[0]
    assert (float(post.get("x")), float(post.get("width"))) == (605.0, 6.0)


@settings(deadline=None, max_examples=60)
@given(
    rows=st.lists(
        st.lists(
            st.tuples(st.one_of(st.none(), st.floats(1e-5, 1e5)), st.sampled_from(STATES), st.booleans()),
            max_size=60,
        ),
        max_size=3,
    ),
    width=st.sampled_from([360, 1216]),
)
def test_no_plank_leaves_the_strip(rows, width):
    openings = tuple(tuple(Plank(*plank) for plank in opening) for opening in rows)

    picture = strip((Side("port", openings),), width, summary=HOSTILE)

    assert_sound(picture)
    for rect in [*elements(picture, "rect", "p-open"), *elements(picture, "rect", "p-strip-next")]:
        assert float(rect.get("x")) >= 0
        assert float(rect.get("x")) + float(rect.get("width")) <= width + 0.2


@pytest.mark.parametrize("bad", [0, -4.0, math.nan, math.inf, 2e6, "4"])
def test_plank_refuses_a_width_that_cannot_be_drawn(bad):
    with pytest.raises(ValueError, match="A planned width"):
        Plank(bad)


def test_plank_and_side_refuse_words_that_are_not_theirs():
    with pytest.raises(ValueError, match="state"):
        Plank(4.0, "gone")
    with pytest.raises(ValueError, match="side"):
        Side("left", ())
