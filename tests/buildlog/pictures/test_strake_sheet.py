"""The strake sheet: straight, to scale, which line is which, and labels that do not touch."""

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from buildlog.pictures.hull import HullStation, HullStrake
from buildlog.pictures.strake_sheet import Clash, StrakeSheet, strake_sheet
from tests.buildlog.pictures.drawn_hulls import (
    HOSTILE,
    NAMES,
    assert_clear,
    assert_sound,
    elements,
    points_of,
    stations,
    strakes,
    words_of,
)

PLACES = (HullStation("A", -100.0), HullStation("⊗", 0.0, True), HullStation("F", 100.0))
STRAKE = HullStrake("11", "hung", (4.0, 5.0, 3.0), (0.02, 0.06, -0.09), butts_mm=(-40.0, 60.0))


def sheet(side="port", **changes):
    return StrakeSheet(**({"side": side, "stations": PLACES, "strake": STRAKE} | changes))


@pytest.mark.parametrize(
    ("side", "upper", "lower"), [("port", "keel side", "wale side"), ("starboard", "wale side", "keel side")]
)
def test_sheet_says_which_line_is_which(side, upper, lower):
    said = " ".join(words for words, _x, _y in words_of(strake_sheet(sheet(side), summary="edges")))

    assert f"upper line: {upper} · lower line: {lower}" in said


@pytest.mark.parametrize("width", [328, 720, 1178])
def test_strake_lies_straight_on_its_middle_line_to_scale(width):
    picture = strake_sheet(sheet(), width, summary="straight")

    points = points_of(elements(picture, "path", "p-free")[0].get("d"))
    other = points_of(elements(picture, "path", "p-free")[1].get("d"))
    heights = [low[1] - high[1] for high, low in zip(points, other, strict=True)]
    middles = {round((high[1] + low[1]) / 2, 1) for high, low in zip(points, other, strict=True)}
    assert max(middles) - min(middles) <= 0.2
    assert [height / heights[1] for height in heights] == pytest.approx([0.8, 1.0, 0.6], abs=0.01)


def test_figures_are_signed_and_within_the_noise_left_unsigned():
    said = [words for words, _x, _y in words_of(strake_sheet(sheet(), summary="figures"))]

    assert {"0.02", "▲ 0.06", "▼ 0.09"} <= set(said)


def test_clash_is_ringed_at_its_butt_and_planks_are_named_between_butts():
    picture = strake_sheet(
        sheet(planks=("11-3", "11-2", "11-1"), clashes=(Clash(60.0, "butt breaks a rule"),)), summary="joints"
    )

    at = {words: x for words, x, _y in words_of(picture)}
    ring = float(elements(picture, "circle", "p-ring")[0].get("cx"))
    butts = [x for x, _y in points_of(elements(picture, "path", "p-butt")[0].get("d"))]
    assert ring == pytest.approx(max(butts), abs=0.1)
    assert at["11-3"] < min(butts) < at["11-2"] < max(butts) < at["11-1"]
    assert "butt breaks a rule" in at
    assert at["A"] < at["⊗"] < at["F"] < at["BOW →"]


def test_short_strake_ends_where_it_ends():
    short = HullStrake("12", "hung", (4.0, 4.0, 0.0), (0.0, 0.0, None), kind="drop")

    picture = strake_sheet(sheet(strake=short), summary="drop strake")

    at = {words: x for words, x, _y in words_of(picture)}
    end = max(x for x, _y in points_of(elements(picture, "path", "p-free")[0].get("d")))
    assert at["⊗"] < end < at["F"]


@st.composite
def sheets(draw):
    places = draw(stations())
    strake = draw(strakes(places))[0]
    where = places[0].x_mm or 0.0
    clashes = tuple(
        Clash(where + offset, words)
        for offset, words in draw(st.lists(st.tuples(st.floats(0, 900), NAMES), max_size=3))
    )
    return StrakeSheet(
        draw(st.sampled_from(["port", "starboard"])),
        places,
        strake,
        tuple(draw(st.lists(NAMES, max_size=5))),
        clashes,
    )


@settings(
    deadline=None,
    max_examples=50,
    phases=(Phase.explicit, Phase.reuse, Phase.generate),
    suppress_health_check=list(HealthCheck),
)
@given(drawn=sheets(), width=st.sampled_from([328, 720, 1178]))
def test_no_sheet_makes_labels_touch_or_breaks(drawn, width):
    picture = strake_sheet(drawn, width, summary=HOSTILE)

    assert_sound(picture)
    assert_clear(picture)
