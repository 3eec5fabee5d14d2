"""Hulls a builder may have, invented by rule, and what every picture of them must keep to."""

import math
import re
from itertools import combinations
from xml.etree import ElementTree

from hypothesis import strategies as st

from buildlog.pictures.hull import (
    Hull,
    HullBelt,
    HullGap,
    HullOpening,
    HullSide,
    HullStation,
    HullStrake,
)

HOSTILE = "<script>&\"'</svg>]]>"
NAMES = st.one_of(
    st.sampled_from(
        ["⊗", "AH", "FH", "Q", "12", "Frame 27", "Bulkhead twenty-three", HOSTILE, "", "Ж Ѣ", "骨"]
    ),
    st.text(max_size=30),
)
LABELS = st.one_of(
    st.integers(1, 45).map(str), st.sampled_from(["5a", "C", "the garboard strake", HOSTILE, "W" * 20])
)
WIDTHS = st.floats(0.05, 12.0)
OFF_PLAN = st.one_of(st.none(), st.floats(-0.4, 0.4))


@st.composite
def stations(draw, most=60):
    """Return stations from aft to forward, their places known or not."""
    count = draw(st.integers(1, most))
    placed = draw(st.booleans())
    x, found = -200.0, []
    flat = draw(st.integers(0, count - 1))
    for index in range(count):
        x += draw(st.floats(0.5, 120.0)) if placed else 0
        found.append(HullStation(draw(NAMES), x if placed else None, index == flat))
    return tuple(found)


@st.composite
def strakes(draw, places):
    """Return an opening's strakes: two runs, or one, towards a gap of any height."""
    count = draw(st.integers(3, 45))
    left = draw(st.integers(0, count))
    from_keel = draw(st.integers(0, count - left))
    kind = draw(st.sampled_from(["planned", "none", "thin", "some"]))
    found = []
    for index in range(count):
        is_open = from_keel <= index < from_keel + left
        state = "open" if is_open else draw(st.sampled_from(["hung", "hung", "hung", "before_log"]))
        if is_open and index == from_keel and draw(st.booleans()):
            state = "next"
        found.append(
            HullStrake(
                draw(LABELS),
                state,
                draw(_widths(kind, len(places), is_open)),
                draw(_deviations(len(places))) if state == "hung" else (),
                butts_mm=draw(_butts(places)),
                closing=is_open and index == from_keel + left - 1,
                kind=draw(st.sampled_from(["full", "full", "drop", "stealer"])),
            )
        )
    return tuple(found)


def _widths(kind, count, is_open):
    if kind == "none":
        return st.just(())
    if kind == "thin" and is_open:
        return st.just((0.01,) * count)
    one = WIDTHS if kind == "planned" else st.one_of(st.none(), st.just(0.0), WIDTHS)
    usual = WIDTHS.map(lambda width: (width,) * count)
    short = WIDTHS.map(lambda width: (width,) * (count - 1) + (0.0,))
    return st.one_of(usual, usual, short, st.lists(one, min_size=count, max_size=count).map(tuple))


def _deviations(count):
    return st.one_of(st.just(()), st.lists(OFF_PLAN, min_size=count, max_size=count).map(tuple))


def _butts(places):
    if places[0].x_mm is None:
        return st.just(())
    return st.lists(st.floats(places[0].x_mm - 50, places[-1].x_mm + 50), max_size=4).map(tuple)


@st.composite
def openings(draw, places):
    """Return an opening with belts and what was measured in its gap."""
    planks = draw(strakes(places))
    belts, first = [], 0
    while first < len(planks) and draw(st.booleans()):
        last = min(first + draw(st.integers(0, 8)), len(planks) - 1)
        tone = draw(st.sampled_from(["wide", "narrow", "within", "open"]))
        belts.append(HullBelt(draw(NAMES) or "belt", first, last, draw(NAMES), tone))
        first = last + 1
    gaps = [
        HullGap(
            draw(st.integers(0, len(places) - 1)),
            draw(st.sampled_from(["21.76", "0.02", HOSTILE])),
            draw(NAMES),
        )
        for _ in range(draw(st.integers(0, 4)))
    ]
    if gaps:
        gaps[0] = HullGap(gaps[0].station, gaps[0].figure, gaps[0].words, is_worst=True, is_read=draw(st.booleans()))
    return HullOpening(planks, tuple(belts), tuple(gaps))


@st.composite
def hulls(draw):
    """Return one side or both of a hull, each of one or two openings."""
    places = draw(stations())
    names = draw(st.sampled_from([("port",), ("starboard",), ("port", "starboard")]))
    sides = tuple(
        HullSide(n, tuple(draw(openings(places)) for _ in range(draw(st.integers(1, 2))))) for n in names
    )
    return Hull(places, sides)


def brig(*, hung=(1, 2, 3, 4, *range(10, 19)), sides=("starboard", "port"), **changes):
    """Return a hull of eighteen strakes a side at eleven stations, two drop strakes and a stealer."""
    names = ("AH", "16", "12", "8", "4", "⊗", "D", "H", "M", "Q", "FH")
    xs = (-247.6, -220.1, -165.1, -110.1, -55.0, 0.0, 55.0, 110.1, 165.1, 220.1, 247.6)
    shape = (0.95, 0.92, 0.92, 0.95, 0.99, 1.0, 0.99, 0.95, 0.86, 0.68, 0.53)
    places = tuple(HullStation(name, x, name == "⊗") for name, x in zip(names, xs, strict=True))
    return Hull(places, tuple(_brig_side(side, shape, hung) for side in sides), **changes)


def _brig_side(side, shape, hung):
    rows = []
    for number in range(1, 19):
        widths = [round(4.7 * share, 3) for share in shape]
        if number in (8, 12):
            widths[-1] = 0.0
        state = "hung" if number in hung else "next" if number == 9 and side == "port" else "open"
        off = 0.07 if number in range(10, 15) and side == "port" else -0.08 if number in (3, 4) else 0.01
        rows.append(
            HullStrake(
                str(number),
                state,
                tuple(widths),
                tuple(None if not width else off for width in widths) if state == "hung" else (),
                butts_mm=(-82.6 + 13.76 * (number % 4), 82.6 - 13.76 * (number % 3)),
                closing=number == 7,
                kind="drop" if number in (8, 12) else "full",
            )
        )
    rows.insert(3, HullStrake("3a", "hung", (4.7, *(0.0,) * 10), kind="stealer"))
    belts = (
        HullBelt("Floor belt", 0, 4, "narrow 0.17 at H", "narrow"),
        HullBelt("Bilge belt", 5, 9, "open, 5 to hang", "open"),
        HullBelt("Side belt", 10, 14, "wide 0.34 at M", "wide"),
        HullBelt("Diminishing belt", 15, 18, "within 0.04"),
    )
    gaps = (
        HullGap(6, "21.76", "short by 0.40", is_worst=True),
        HullGap(5, "22.16", "short by 0.33"),
        HullGap(2, "20.18", "short by 0.33"),
    )
    return HullSide(side, (HullOpening(tuple(rows), belts, gaps),))


def assert_sound(picture):
    """Assert what holds for every picture: well formed, no style, no script, no figure that is none."""
    ElementTree.fromstring(picture.svg)
    bare = re.sub(r'(aria-label="[^"]*"|>[^<]*<)', "", picture.svg)
    assert "style" not in bare
    assert "<script" not in picture.svg
    assert not re.search(r"\b(nan|inf)\b", bare)
    assert picture.svg.count('role="img"') == 1


def assert_clear(picture, *, inside=True):
    """Assert that no two labels touch, and that all of them are on the sheet."""
    for one, other in combinations(picture.boxes, 2):
        assert not one.touches(other), f"{one} touches {other}"
    if not inside:
        return
    for box in picture.boxes:
        assert box.left >= -0.5, f"{box} stands off the sheet"
        assert box.right <= picture.width + 0.5, f"{box} stands off the sheet"
        assert box.top >= -0.5, f"{box} stands off the sheet"
        assert box.bottom <= picture.height + 0.5, f"{box} stands off the sheet"


def elements(picture, name, of_class):
    """Return the elements of a name that carry a class, in the order painted."""
    root = ElementTree.fromstring(picture.svg)
    found = root.iter(f"{{http://www.w3.org/2000/svg}}{name}")
    return [element for element in found if of_class in element.get("class", "").split()]


def words_of(picture):
    """Return every text of the picture as (words, x, y)."""
    root = ElementTree.fromstring(picture.svg)
    found = []
    for element in root.iter("{http://www.w3.org/2000/svg}text"):
        tail = "".join(child.tail or "" for child in element)
        found.append(((element.text or "") + tail, float(element.get("x")), float(element.get("y"))))
    return found


def points_of(d):
    """Return the end points of a path of M, L, H, V and C, upper case, in order."""
    found, x, y = [], math.nan, math.nan
    for letter, rest in re.findall(r"([MLHVC])([^MLHVCz]*)", d):
        numbers = [float(figure) for figure in re.findall(r"-?\d+(?:\.\d+)?", rest)]
        if letter == "H":
            x = numbers[-1]
        elif letter == "V":
            y = numbers[-1]
        else:
            x, y = numbers[-2:]
        found.append((x, y))
    return found
