"""When a gap reading is due."""

from dataclasses import replace

import pytest

from planking.gap_checks import check_marks, due_stations
from planking.opening import GapReading, Opening, Station, Strake


def hull(hung: int, *gaps: GapReading, total: int = 20) -> Opening:
    strakes = tuple(
        Strake(
            str(n),
            "wale",
            {"D": 5.0, "E": 5.0},
            state="hung" if n > total - hung else "open",
            hung_order=99 - n if n > total - hung else None,
        )
        for n in range(1, total + 1)
    )
    return Opening("port", (Station("D"), Station("E")), strakes, gaps=gaps)


def gap(station: str, hung: int, total: int = 20) -> GapReading:
    return GapReading(station, 50.0, frozenset(str(n) for n in range(total, total - hung, -1)), 0.1)


@pytest.mark.parametrize(
    ("strakes", "marks"),
    [
        (20, (0, 5, 10, 15, 18)),
        (18, (0, 5, 9, 14, 16)),
        (10, (0, 3, 5, 8)),
        (4, (0, 1, 2)),
        (2, (0,)),
        (1, (0,)),
        (0, (0,)),
    ],
)
def test_marks_stand_in_proportion(strakes: int, marks: tuple[int, ...]) -> None:
    assert check_marks(strakes) == marks


@pytest.mark.parametrize(
    ("hung", "read_at", "due"),
    [
        (0, None, True),
        (0, 0, False),
        (4, 0, False),
        (5, 0, True),
        (9, 5, False),
        (10, 5, True),
        (18, 15, True),
        (19, 18, False),
    ],
)
def test_reading_is_due_once_a_mark_is_passed(hung: int, read_at: int | None, due: bool) -> None:
    gaps = () if read_at is None else (gap("D", read_at), gap("E", read_at))

    assert due_stations(hull(hung, *gaps)) == (("D", "E") if due else ())


def test_only_the_station_that_was_not_read_is_due() -> None:
    assert due_stations(hull(5, gap("D", 5), gap("E", 0))) == ("E",)


def test_a_closed_hull_asks_for_nothing() -> None:
    assert due_stations(hull(20)) == ()


def test_a_gap_over_a_plank_since_taken_off_does_not_count() -> None:
    opening = hull(5, gap("D", 5), gap("E", 5))
    off = tuple(
        replace(one, state="open", hung_order=None) if one.label == "16" else one for one in opening.strakes
    )

    assert due_stations(replace(opening, strakes=off)) == ("D", "E")
