"""Drift lines: which way is which, at most three, and that no labels touch."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from buildlog.pictures.drift_lines import Drift, DriftLine, Forecast, drift_lines
from tests.buildlog.pictures.drawn_hulls import (
    HOSTILE,
    LABELS,
    NAMES,
    assert_clear,
    assert_sound,
    elements,
    points_of,
    words_of,
)

STRAKES = tuple(str(number) for number in range(18, 0, -1))
FLAT = DriftLine("⊗", (0.01, 0.02, 0.03, 0.05, 0.12, 0.2, 0.26, 0.33, 0.4), (0.04, 0.05, -0.03, -0.07), True)
WORST = DriftLine("M", (0.0, 0.02, 0.04, 0.06, 0.14, 0.22, 0.31, 0.42, 0.5), (0.03, 0.04, -0.04, -0.08))


def drift(**changes):
    given_ = {"side": "port", "strakes": STRAKES, "lines": (WORST, FLAT), "limit_mm": 0.18, "closing": 11}
    return Drift(**(given_ | changes))


def run_points(picture, stroke):
    """Return the points of every run of a stroke; the first path of each is its sample in the table."""
    return [points_of(path.get("d")) for path in elements(picture, "path", stroke)][1:]


@pytest.mark.parametrize("width", [328, 566, 1178])
def test_runs_start_at_their_own_ends_and_head_for_the_closing_strake(width):
    picture = drift_lines(drift(), width, summary="two runs")

    from_wale, from_keel = run_points(picture, "p-line-solid")
    closing = elements(picture, "rect", "p-closing")[0]
    left, right = float(closing.get("x")), float(closing.get("x")) + float(closing.get("width"))
    assert len(from_wale) == 10
    assert len(from_keel) == 5
    assert from_wale[0][1] == from_keel[0][1]
    assert from_wale[0][0] < from_wale[-1][0] < left < right < from_keel[-1][0] < from_keel[0][0]


def test_what_eats_the_gap_is_drawn_over_nought_and_to_scale():
    picture = drift_lines(drift(), 566, summary="to scale")

    from_wale, from_keel = run_points(picture, "p-line-solid")
    nought = from_wale[0][1]
    rises = [(nought - y) for _x, y in (from_wale[-1], from_keel[-1])]
    assert rises[0] > 0 > rises[1]
    assert rises[0] / rises[1] == pytest.approx(0.40 / -0.07, rel=0.03)
    band = elements(picture, "rect", "p-limit")[0]
    assert float(band.get("height")) / 2 / rises[0] == pytest.approx(0.18 / 0.40, rel=0.02)
    assert float(band.get("y")) + float(band.get("height")) / 2 == pytest.approx(nought, abs=0.2)


def test_dead_flat_is_solid_and_three_stations_at_most_are_drawn():
    lines = tuple(DriftLine(name, (0.1,), (), name == "⊗") for name in ("M", "12", "⊗", "Q", "H"))

    picture = drift_lines(drift(lines=lines), summary="five given")

    strokes = dict(zip(("M", "12", "⊗"), ("p-line-dash", "p-line-dot", "p-line-solid"), strict=True))
    said = {words for words, _x, _y in words_of(picture)}
    assert {"M", "12", "⊗"} <= said
    assert not {"Q", "H"} & said
    assert drift(lines=lines).drawn == [(line, strokes[line.station]) for line in lines[:3]]


def test_table_says_where_each_run_stands_with_a_true_minus():
    said = [words for words, _x, _y in words_of(drift_lines(drift(), summary="table"))]

    at = said.index("M")
    assert said[at : at + 3] == ["M", "+0.50", "−0.08"]


def test_forecast_is_a_fan_that_ends_with_a_dot_on_the_closing_strake():
    picture = drift_lines(drift(forecast_wale=Forecast(0.43, 0.055)), 566, summary="forecast")

    fan = points_of(elements(picture, "path", "p-fan")[0].get("d"))
    dot = elements(picture, "circle", "p-point")[0]
    closing = elements(picture, "rect", "p-closing")[0]
    assert fan[0] == run_points(picture, "p-line-solid")[0][-1]
    assert float(dot.get("cx")) == pytest.approx(float(closing.get("x")), abs=0.1)
    assert fan[1][1] < float(dot.get("cy")) < fan[2][1]


@pytest.mark.parametrize(("side", "heading"), [("port", "■ PORT"), ("starboard", "● STARBOARD")])
def test_result_and_side_are_said_in_the_picture(side, heading):
    result = ("Left alone, 7 is 4.08", "0.42 under 4.50 at ⊗, give or take 0.06")

    said = " ".join(w for w, _x, _y in words_of(drift_lines(drift(side=side, result=result), summary="said")))

    assert heading in said
    assert all(sentence in said for sentence in result)


def test_single_run_has_no_closing_column():
    picture = drift_lines(drift(lines=(DriftLine("⊗", (0.1, 0.2)),), closing=None), summary="one run")

    assert elements(picture, "rect", "p-closing") == []
    assert "closing" not in {words for words, _x, _y in words_of(picture)}


@st.composite
def drifts(draw):
    strakes = tuple(draw(st.lists(LABELS, min_size=1, max_size=45)))
    closing = draw(st.one_of(st.none(), st.integers(0, len(strakes) - 1)))
    sums = st.floats(-30, 30) if draw(st.booleans()) else st.floats(-0.4, 0.4)
    lines = []
    for _ in range(draw(st.integers(0, 5))):
        hung = draw(st.integers(0, len(strakes)))
        wale = draw(st.integers(0, hung))
        values = tuple(draw(st.lists(sums, min_size=hung, max_size=hung)))
        lines.append(DriftLine(draw(NAMES), values[:wale], values[wale:], draw(st.booleans())))
    forecast = st.one_of(st.none(), st.builds(Forecast, sums, st.floats(0, 3)))
    result = tuple(draw(st.lists(NAMES, max_size=3)))
    limit = draw(st.floats(0, 2))
    return Drift("port", strakes, tuple(lines), limit, closing, draw(forecast), draw(forecast), result)


@settings(deadline=None, max_examples=80)
@given(runs=drifts(), width=st.sampled_from([328, 566, 720, 1178]))
def test_no_drift_makes_labels_touch_or_breaks(runs, width):
    picture = drift_lines(runs, width, summary=HOSTILE)

    assert_sound(picture)
    assert_clear(picture)


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_drift_refuses_figures_that_are_none(bad):
    with pytest.raises(ValueError, match="A sum at M"):
        DriftLine("M", (bad,))
    with pytest.raises(ValueError, match="The limit"):
        drift(limit_mm=bad)
    with pytest.raises(ValueError, match="The forecast"):
        Forecast(bad)


def test_drift_refuses_runs_longer_than_the_strakes():
    with pytest.raises(ValueError, match="more sums than there are strakes"):
        drift(strakes=("2", "1"), closing=0, lines=(DriftLine("M", (0.1, 0.2, 0.3)),))


def test_each_station_goes_on_dotted_to_where_it_is_heading():
    lines = (
        DriftLine("M", (0.1, 0.2), (0.0,), to_wale=0.3, to_keel=-0.1),
        DriftLine("F", (0.0, 0.1), (0.0,), is_dead_flat=True),
    )
    picture = drift_lines(Drift("port", tuple("54321"), lines, 0.2, closing=2), 566, summary="s")

    assert picture.svg.count('class="p-point"') == 2
    with pytest.raises(ValueError, match="A forecast at M"):
        DriftLine("M", to_wale=float("nan"))
