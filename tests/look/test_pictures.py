"""The pictures in a real browser: words as wide as reckoned, none touching, none too small."""

from dataclasses import replace
from itertools import combinations

import pytest

from buildlog.pictures.cut_card import CardPlank, CardStation, cut_card
from buildlog.pictures.drawing import Box
from buildlog.pictures.drift_lines import Drift, DriftLine, drift_lines
from buildlog.pictures.gap_wedge import WedgeStation, gap_wedge
from buildlog.pictures.plank_map import plank_map
from buildlog.pictures.strake_sheet import StrakeSheet, strake_sheet
from tests.buildlog.pictures.drawn_hulls import brig

pytestmark = pytest.mark.journeys

STYLES = "<link rel=stylesheet href=/static/css/reckoner.css>"
PAGE = f"<!doctype html><html lang=en>{STYLES}<body><main>%s</main></html>"
# Ink of a line of figures: capitals reach 0.66 of the size over the baseline, tails 0.2 under it.
MEASURE = """() => [...document.querySelectorAll('svg text')].map(text => {
  const box = text.getBBox(), size = parseFloat(getComputedStyle(text).fontSize), y = +text.getAttribute('y');
  const words = text.lastChild ? text.lastChild.textContent : '';
  return {words, size, left: box.x, right: box.x + box.width, top: y - 0.66 * size, bottom: y + 0.02 * size};
})"""


def drawn(width):
    hull = brig()
    stations = tuple(
        WedgeStation(name, 0.1, 0.02 * index - 0.1, 0.17, 0.01, 0.3)
        for index, name in enumerate("ABCDEFGHIJK")
    )
    more = {"measured_mm": None, "reckoned_mm": 0.1, "in_plan_mm": -0.2, "weighed_mm": 0.04}
    reckoned = tuple(replace(one, **more) for one in stations)
    lines = (
        DriftLine("M", (0.1, 0.2, 0.5), (0.05, -0.08)),
        DriftLine("⊗", (0.1, 0.1, 0.4), (0.05, -0.07), True),
    )
    names = tuple(str(number) for number in range(18, 0, -1))
    drift = Drift("port", names, lines, 0.18, 11, result=("Cut as planned, 7 is 4.36", "With the hand as it is: 4.82"))
    strake = hull.strakes()[-6]
    card = CardPlank("port", "keel", tuple(CardStation(name, 4.0) for name in "ABCDE"))
    return [
        plank_map(hull, width, summary="map"),
        plank_map(hull, width, summary="club map", key="club", plain=True),
        drift_lines(drift, 566 if width > 600 else width, summary="drift"),
        gap_wedge(stations, width, summary="wedge"),
        gap_wedge(reckoned, width, summary="reckoned", key="reckoned"),
        strake_sheet(StrakeSheet("port", hull.stations, strake), width, summary="sheet"),
        cut_card(card, "paper" if width > 600 else "phone", summary="card"),
    ]


@pytest.mark.parametrize("width", [328, 720, 1178])
def test_words_of_pictures_fit_their_boxes_in_a_browser_and_none_touch(open_page, width):
    for picture in drawn(width):
        page = open_page(PAGE % picture.svg, phone=False)
        texts = page.evaluate(MEASURE)

        assert page.problems == []
        assert len(texts) == len(picture.boxes) > 0
        reckoned = sorted(picture.boxes, key=lambda box: (box.left, box.top))
        seen = sorted(
            (Box(t["left"], t["top"], t["right"], t["bottom"], t["words"]) for t in texts),
            key=lambda box: box.words,
        )
        for box in seen:
            own = [r for r in reckoned if r.words == box.words]
            assert any(r.left - 1 <= box.left and box.right <= r.right + 1 for r in own), box
        for one, other in combinations(seen, 2):
            assert not one.touches(other), f"{one} touches {other}"
        assert min(text["size"] for text in texts) >= 12.5
        page.context.close()


def test_patterns_of_a_picture_are_painted(open_page):
    svg = plank_map(brig(), 1178, summary="map").svg
    page = open_page(PAGE % svg, phone=False)
    path = page.locator('path[fill="url(#hatch-w2-plank-map-1178)"]').first

    assert path.evaluate("path => getComputedStyle(path).fill") == 'url("#hatch-w2-plank-map-1178")'
    assert page.evaluate("getComputedStyle(document.querySelector('.p-stroke')).stroke") == "rgb(18, 33, 43)"
