"""The cut card: which edge is which, on paper and on the phone, port and starboard."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from buildlog.pictures.cut_card import CardButt, CardPlank, CardStation, cut_card, left_edge, upper_edge
from tests.buildlog.pictures.drawn_hulls import (
    HOSTILE,
    NAMES,
    assert_clear,
    assert_sound,
    elements,
    points_of,
    words_of,
)

STATIONS = (
    CardStation("16", 4.12, -220.1),
    CardStation("8", 4.19, -110.1),
    CardStation("⊗", 4.36, 0.0),
    CardStation("H", 4.10, 110.1),
    CardStation("Q", 2.93, 220.1),
)
BUTTS = (CardButt(-82.6, "butt at +6"), CardButt(82.6, "butt at frame −6, leans forward", 6.0))


def card(side, datum="keel", form="paper", stations=STATIONS, butts=BUTTS):
    return cut_card(CardPlank(side, datum, stations, butts), form, summary="a card")


def datum_line(picture):
    line = elements(picture, "line", "p-card-datum")[0]
    return tuple(float(line.get(name)) for name in ("x1", "y1", "x2", "y2"))


def free_edge(picture):
    return points_of(elements(picture, "path", "p-card-free")[0].get("d"))


# Outer face up and bow to the right, as the hull itself shows: from outside with the bow at the right one
# looks at the starboard side, keel under wale; a port plank so turned lies keel side up.
@pytest.mark.parametrize(("side", "edge"), [("port", "keel"), ("starboard", "wale")])
def test_upper_edge_with_the_bow_right_is_keel_on_port_and_wale_on_starboard(side, edge):
    assert upper_edge(side) == edge
    assert left_edge(side) == edge


@pytest.mark.parametrize(
    ("side", "datum", "datum_is_upper"),
    [
        ("port", "keel", True),
        ("port", "wale", False),
        ("starboard", "keel", False),
        ("starboard", "wale", True),
    ],
)
def test_paper_card_draws_the_datum_edge_where_it_lies(side, datum, datum_is_upper):
    picture = card(side, datum)

    y = datum_line(picture)[1]
    assert all((height > y) is datum_is_upper for _x, height in free_edge(picture))
    said = {words: height for words, _x, height in words_of(picture)}
    keel = next(height for words, height in said.items() if "KEEL SIDE" in words)
    wale = next(height for words, height in said.items() if "WALE SIDE" in words)
    assert (keel < wale) is (upper_edge(side) == "keel")
    thick = next(words for words in said if "thick line" in words)
    assert ("KEEL SIDE" in thick) is (datum == "keel")


@pytest.mark.parametrize(
    ("side", "datum", "datum_is_left"),
    [
        ("port", "keel", True),
        ("port", "wale", False),
        ("starboard", "keel", False),
        ("starboard", "wale", True),
    ],
)
def test_phone_card_draws_the_datum_edge_where_it_lies(side, datum, datum_is_left):
    picture = card(side, datum, "phone")

    x = datum_line(picture)[0]
    assert all((place > x) is datum_is_left for place, _y in free_edge(picture))


def test_port_and_starboard_cards_of_one_datum_are_mirror_images():
    port, starboard = card("port"), card("starboard")

    offsets = [
        [place for x, y in free_edge(picture) for place in (x, abs(y - datum_line(picture)[1]))]
        for picture in (port, starboard)
    ]
    assert offsets[0] == pytest.approx(offsets[1], abs=0.15)


def test_paper_card_has_the_bow_at_the_right_and_the_phone_at_its_top():
    paper, phone = card("port"), card("port", form="phone")

    edge = free_edge(paper)
    start = datum_line(paper)[1] + 4.5
    at_column = [min(edge, key=lambda p: abs(p[0] - 734 * (i + 0.5) / 5))[1] - start for i in range(5)]
    assert at_column == pytest.approx([84 * s.width_mm / 4.36 for s in STATIONS], abs=0.2)
    heights = {i: 28 + 98 * 5 - 98 * (i + 0.5) for i in range(5)}
    across = [min(free_edge(phone), key=lambda p: abs(p[1] - heights[i]))[0] - 9 for i in range(5)]
    assert across == pytest.approx([58 * s.width_mm / 4.36 for s in STATIONS], abs=0.2)
    assert (
        "BOW →" in {w for w, _x, _y in words_of(paper)},
        "BOW ↑" in {w for w, _x, _y in words_of(phone)},
    ) == (
        True,
        True,
    )


def test_butt_leans_from_the_datum_edge_towards_its_far_end():
    picture = card("port")

    (straight, leaning) = [points_of(path.get("d")) for path in elements(picture, "path", "p-card-butt")]
    assert straight[0][0] == straight[1][0]
    assert leaning[1][0] > leaning[0][0]
    assert abs(leaning[0][1] - datum_line(picture)[1]) < abs(leaning[1][1] - datum_line(picture)[1])


def test_butts_fall_between_the_stations_they_stand_between():
    picture = card("port")

    x = points_of(elements(picture, "path", "p-card-butt")[0].get("d"))[0][0]
    column = 734 / 5
    assert x == pytest.approx(column * (1.5 + (110.1 - 82.6) / 110.1), abs=0.2)


def test_card_without_places_leaves_butts_out():
    picture = card("port", stations=(CardStation("A", 4.0), CardStation("F", 3.0)))

    assert elements(picture, "path", "p-card-butt") == []


@settings(deadline=None, max_examples=80)
@given(
    side=st.sampled_from(["port", "starboard"]),
    datum=st.sampled_from(["keel", "wale"]),
    form=st.sampled_from(["paper", "phone"]),
    rows=st.lists(st.tuples(NAMES, st.floats(1e-5, 50)), min_size=1, max_size=60),
    butts=st.lists(st.tuples(st.floats(-100, 6500), NAMES, st.floats(-20, 20)), max_size=8),
)
def test_no_card_makes_labels_touch_or_breaks(side, datum, form, rows, butts):
    stations = tuple(CardStation(name, width, 100.0 * i) for i, (name, width) in enumerate(rows))
    plank = CardPlank(side, datum, stations, tuple(CardButt(x, words, lean) for x, words, lean in butts))

    picture = cut_card(plank, form, summary=HOSTILE)

    assert_sound(picture)
    assert_clear(picture)


@pytest.mark.parametrize("bad", [0, -1, math.nan, math.inf, None])
def test_card_refuses_a_width_that_cannot_be_cut(bad):
    with pytest.raises(ValueError, match="The width at Q"):
        CardStation("Q", bad)


def test_card_refuses_no_stations_and_stations_out_of_order():
    with pytest.raises(ValueError, match="one station"):
        CardPlank("port", "keel", ())
    with pytest.raises(ValueError, match="rise from aft"):
        CardPlank("port", "keel", STATIONS[::-1])
