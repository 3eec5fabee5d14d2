"""Notes about the cutting: the way each figure runs, what is carried on, and what is asked for first."""

from dataclasses import replace

import pytest

from planking.cuts import notes
from planking.opening import EdgeReading, Epoch, Opening, Station, Strake, WidthReading

STATIONS = ("F", "M", "D")


def belt(*off: tuple[float, ...], to_come: int = 2, **facts: object) -> Opening:
    """Strakes of 5.00 from the wale, each off the plan by so much at F, M and D (dead flat), and some to come."""
    count = len(off) + to_come
    plan = dict.fromkeys(STATIONS, 5.0)
    strakes, widths = [], []
    for index in range(count):
        label = str(count + 1 - index)
        hung = {"state": "hung", "hung_order": index} if index < len(off) else {}
        strakes.append(Strake(label, "wale", plan, belt="Side", **hung))
        if index < len(off):
            widths += [
                WidthReading(label, at, 5.0 + by, "A") for at, by in zip(STATIONS, off[index], strict=True)
            ]
    strakes.append(Strake("1", "closing", plan))
    known = {"epochs": (Epoch("A", "Caliper A", 0.02, 0.001),), "dead_flat": "D"} | facts
    return Opening(
        "port", tuple(Station(at) for at in STATIONS), tuple(reversed(strakes)), widths=tuple(widths), **known
    )


def only_note(opening: Opening):
    (note,) = notes(opening)
    return note


def test_place_that_runs_the_other_way_says_so() -> None:
    """Three of +0.15, +0.15, -0.03: 0.45 at F and, at dead flat, 0.09 the other way; five by 0.75 and 0.15."""
    note = only_note(belt(*[(0.15, 0.15, -0.03)] * 3))

    assert "3 of 3 wide, together 0.45 at F, 0.09 narrow at D" in note.sentence
    assert "at this rate 0.75 and 0.15 narrow by strake 2" in note.sentence


def test_two_strakes_are_told_by_all_their_stations_where_dead_flat_runs_the_other_way() -> None:
    """(0.15 + 0.15 - 0.03) / 3 = 0.09 wide over all, though both are narrow at dead flat."""
    assert only_note(belt(*[(0.15, 0.15, -0.03)] * 2)).sentence.startswith("Port 5 and 4 are both wide, about 0.09.")


def test_nothing_is_carried_on_where_nothing_is_left() -> None:
    opening = belt(*[(0.1, 0.1, 0.1)] * 3, to_come=0)
    closed = replace(
        opening, strakes=tuple(replace(one, state="hung") if one.run == "closing" else one for one in opening.strakes)
    )

    assert only_note(opening).sentence.endswith("it is carried on to the strakes left. A note, not an alarm.")
    assert only_note(closed).sentence == "Port side belt: 3 of 3 wide, together 0.30 at F, 0.30 at D."


def test_belt_that_was_made_to_its_line_carries_nothing_on() -> None:
    opening = belt(*[(0.1, 0.1, 0.1)] * 3, to_come=0, edges=(EdgeReading("wale", "2", "D", 15.0, 0.05),))

    assert "; the line it ends at was held." in only_note(opening).sentence


@pytest.mark.parametrize(
    ("ended", "words"),
    [
        (False, "Check the zero of Caliper A first, then how the line is cut."),
        (True, "Look at how the line is cut."),
    ],
)
def test_zero_that_was_set_anew_since_is_not_asked_for(ended: bool, words: str) -> None:
    epochs = (Epoch("A", "Caliper A", 0.02, 0.001, ended=ended),)

    assert only_note(belt(*[(0.1, 0.1, 0.1)] * 5, epochs=epochs)).sentence.endswith(words)


def test_strake_hung_first_by_the_number_nought_comes_first() -> None:
    assert only_note(belt(*[(0.1, 0.1, 0.1)] * 3)).strakes == ("6", "5", "4")


def test_sum_of_a_run_can_be_followed_by_hand() -> None:
    """0.10, 0.12 and 0.14 at F: 0.36; over three strakes with two to come, 0.60."""
    note = only_note(belt((0.10, 0.1, 0.1), (0.12, 0.1, 0.1), (0.14, 0.1, 0.1)))

    lines = [(line.kind, line.words, line.shown) for line in note.sum]
    assert lines[:6] == [
        ("heading", "Off the plan at F", ""),
        ("term", "strake 6", "0.10"),
        ("term", "strake 5", "0.12"),
        ("term", "strake 4", "0.14"),
        ("total", "together", "0.36"),
        ("note", "0.36 over 3 strakes, 2 more to come: 0.60 at this rate.", ""),
    ]
    # Each strake's doubt is 0.02 / sqrt 3; three of them and one zero of 0.001 in each: 0.02, by hand.
    assert lines[-1] == ("note", "It is told beyond 1.645 of its doubt of 0.02, which is 0.03.", "")
