"""The gap wedge: stacks that add up, to scale, signed, and labels that do not touch."""

import math

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from buildlog.pictures.gap_wedge import WedgeStation, gap_wedge
from tests.buildlog.pictures.drawn_hulls import HOSTILE, NAMES, assert_clear, assert_sound, elements, words_of

STATIONS = (
    WedgeStation("AH", 0.03, -0.05, 0.19, 0.01, 0.18),
    WedgeStation("⊗", 0.13, 0.0, 0.18, 0.02, 0.33),
    WedgeStation("FH", -0.06, 0.04, 0.17, 0.0, None),
)


@pytest.mark.parametrize("station", STATIONS[:2], ids=["AH", "dead flat"])
def test_parts_add_up_to_what_was_measured(station):
    stacked = station.stacked()

    assert sum(end - start for _part, start, end in stacked) == pytest.approx(station.measured_mm)


def test_what_opens_the_gap_hangs_under_nought():
    assert WedgeStation("A", -0.1, 0.2, 0.3, -0.05).stacked() == [
        ("widths_mm", 0.0, -0.1),
        ("girth_mm", 0.0, 0.2),
        ("seams_mm", 0.2, 0.5),
        ("left_over_mm", -0.1, pytest.approx(-0.15)),
    ]


def test_bars_and_readings_share_one_scale():
    picture = gap_wedge(STATIONS, 720, summary="scale")

    nought = float(elements(picture, "line", "p-axis")[0].get("y1"))
    measured = elements(picture, "line", "p-measured")
    seams = [rect for rect in elements(picture, "rect", "p-hung")][1]
    rise = nought - float(measured[1].get("y1"))
    assert float(seams.get("height")) / rise == pytest.approx(0.18 / 0.33, rel=0.02)
    assert (nought - float(measured[0].get("y1"))) / rise == pytest.approx(0.18 / 0.33, rel=0.02)


def test_wide_is_strokes_narrow_is_dots_girth_is_open_dots():
    picture = gap_wedge(STATIONS, 720, summary="hatches")

    for hatch in ("w2", "n2", "girth"):
        assert f'fill="url(#hatch-{hatch}-gap-wedge-720)"' in picture.svg
        assert f'id="hatch-{hatch}-gap-wedge-720"' in picture.svg
    said = {words for words, _x, _y in words_of(picture)}
    assert {"widths, wide", "widths, narrow", "girth", "seams", "left over", "measured"} <= said


@pytest.mark.parametrize("width", [328, 566, 720, 1178])
def test_stations_run_to_the_bow_at_the_right(width):
    at = {words: x for words, x, _y in words_of(gap_wedge(STATIONS, width, summary="bow"))}

    assert at["AH"] < at["⊗"] < at["FH"] <= at["BOW →"]


NOUGHT = ("⊗", 0.0, 0.0, 0.0, 0.0, None, 0.0, 0.0, None)
PARTS = st.one_of(st.floats(-0.6, 0.6), st.just(0.0), st.floats(-1000, 1000))


@settings(deadline=None, max_examples=80)
@given(
    rows=st.lists(
        st.tuples(NAMES, *[PARTS] * 4, *[st.one_of(st.none(), PARTS), PARTS, PARTS, st.one_of(st.none(), PARTS)]),
        min_size=1, max_size=60,
    ),
    width=st.sampled_from([328, 566, 720, 1178]),
)
@example(rows=[NOUGHT] * 9 + [(*NOUGHT[:7], 957.0, 0.0), ("⊗", 0.0, 0.0, 913.0, 0.0, None, 0.0, 29.0, 0.0)], width=328)
def test_no_wedge_makes_labels_touch_or_breaks(rows, width):
    picture = gap_wedge([WedgeStation(*row) for row in rows], width, summary=HOSTILE)

    assert_sound(picture)
    assert_clear(picture)


@pytest.mark.parametrize("bad", [math.nan, math.inf, "0.1"])
def test_wedge_refuses_figures_that_are_none(bad):
    with pytest.raises(ValueError, match="at M"):
        WedgeStation("M", bad)
    with pytest.raises(ValueError, match="at M"):
        WedgeStation("M", measured_mm=bad)


def test_wedge_refuses_no_stations():
    with pytest.raises(ValueError, match="one station"):
        gap_wedge([], summary="none")


def test_what_nobody_read_is_a_broken_line_and_called_reckoned():
    picture = gap_wedge([WedgeStation("M", 0.2, 0.1, reckoned_mm=0.3)], 720, summary="reckoned")

    said = {words for words, _x, _y in words_of(picture)}
    assert {"0.30", "reckoned"} <= said
    assert "measured" not in said
    assert not elements(picture, "line", "p-measured")
    assert elements(picture, "line", "p-line-dash")


def test_what_is_in_the_plan_is_a_part_of_its_own():
    station = WedgeStation("D", 0.15, 0.02, 0.02, 0.0, -0.03, in_plan_mm=-0.22)

    assert station.stacked()[0] == ("in_plan_mm", 0.0, -0.22)
    assert sum(end - start for _part, start, end in station.stacked()) == pytest.approx(station.measured_mm)
    assert "in the plan" in {words for words, _x, _y in words_of(gap_wedge([station], 720, summary="plan"))}
