"""New widths: the brig's, limits and locks, what is offered, what cannot be done and which count would do."""

from dataclasses import replace

import numpy as np
import pytest

from planking import estimate
from planking.errors import PlankingError
from planking.offered import why_offered
from planking.opening import Epoch, GapReading, Limits, Opening, Station, Strake, WidthReading
from planking.recut import CLOSING_SHARE, card_widths, is_offered, recut
from tests.planking.brig import DATA, brig

MODES = ("fair", "even", "by_width", "hidden_first")


def even_hull(gap: float, **facts: object) -> Opening:
    """Six strakes of 5.00 at four stations, nothing hung, one gap read well at each."""
    names = ("A", "B", "C", "D")
    strakes = tuple(
        Strake(str(n), "closing" if n == 3 else "keel" if n < 3 else "wale", dict.fromkeys(names, 5.0))
        for n in range(1, 7)
    )
    given = {
        "gaps": tuple(GapReading(name, gap, frozenset(), 0.001) for name in names),
        "seam_mm": 0.02,
        "u_seam_mm": 0.0001,
        "planned_seam_mm": 0.02,
        "seam_scatter_mm": 0.0,
    } | facts
    return Opening("port", tuple(map(Station, names)), strakes, **given)


def table(found: object, station: str) -> dict[str, float]:
    return {one.strake: one.wanted_mm for one in found.widths if one.station == station}


def test_even_recut_of_the_brig_is_441_at_dead_flat() -> None:
    found = recut(brig("port"), "even")

    assert table(found, "DF") == pytest.approx(dict.fromkeys("98765", 4.41), abs=0.01)
    assert (found.offered, found.reason) == (True, "over_one_per_cent")


@pytest.mark.parametrize("mode", ["fair", "by_width"])
def test_other_modes_of_the_brig_stay_within_five_hundredths_of_even(mode: str) -> None:
    even, other = recut(brig("port"), "even"), recut(brig("port"), mode)

    for station in DATA["stations"]:
        assert table(other, station) == pytest.approx(table(even, station), abs=0.05)


@pytest.mark.parametrize("mode", MODES)
@pytest.mark.parametrize("side", ["port", "starboard"])
def test_widths_add_to_the_room_exactly_at_every_station(side: str, mode: str) -> None:
    opening = brig(side)
    room = estimate.room(estimate.ledger(opening)).mean

    found = recut(opening, mode)

    for at, station in enumerate(DATA["stations"]):
        assert sum(table(found, station).values()) == pytest.approx(room[at], abs=1e-9)


def test_equal_strakes_take_an_equal_share() -> None:
    found = recut(even_hull(29.84), "even")

    # 6 x 5.00 + 7 x 0.02 = 30.14 planned; short by 0.30, or 0.05 a strake.
    assert table(found, "B") == pytest.approx(dict.fromkeys("123456", 4.95), abs=1e-4)
    assert found.short_a_strake_mm == pytest.approx(0.05, abs=1e-4)


def test_locked_strakes_keep_their_width() -> None:
    found = recut(even_hull(29.84), "even", locked=("1", "2"))

    assert table(found, "B") == pytest.approx({"1": 5.0, "2": 5.0} | dict.fromkeys("3456", 4.925), abs=1e-4)


def test_hidden_strakes_take_on_more() -> None:
    found = table(recut(even_hull(29.84), "hidden_first"), "B")

    assert found["1"] < found["6"] < 5.0
    assert sum(found.values()) == pytest.approx(29.70, abs=1e-3)


def test_limits_hold_and_the_rest_take_it_up() -> None:
    found = table(recut(even_hull(31.04, limits=Limits(stock_width_mm=5.25)), "fair"), "B")

    assert max(found.values()) <= 5.25 + 1e-9
    assert sum(found.values()) == pytest.approx(30.90, abs=1e-3)


@pytest.mark.parametrize("mode", MODES)
def test_what_cannot_be_done_says_where_by_how_much_and_which_count_would(mode: str) -> None:
    found = recut(even_hull(33.14, limits=Limits(stock_width_mm=5.3)), mode)

    # Room 33.00 for six strakes of at most 5.30 = 31.80: over by 1.20 at every station. Seven: (33.00 -
    # 0.02) / 7 = 4.71.
    assert not found.can_be_done
    assert [one.station for one in found.misfits] == ["A", "B", "C", "D"]
    assert found.misfits[0].short_mm == pytest.approx(-1.2, abs=1e-3)
    assert found.misfits[0].sureness == "certainly"
    assert found.counts_that_would_do[0].strakes_left == 7
    assert found.counts_that_would_do[0].widest_mm == pytest.approx(32.98 / 7, abs=1e-3)
    assert max(table(found, "A").values()) <= 5.3 + 1e-9


@pytest.mark.parametrize(("gap", "offered"), [(30.14, False), (29.90, False), (29.82, True), (30.46, True)])
def test_recut_is_offered_when_a_strake_would_change_by_more_than_one_per_cent(
    gap: float, offered: bool
) -> None:
    opening = even_hull(gap)

    found = recut(opening)

    # One per cent of 5.00 is 0.05 a strake, 0.30 over six: offered beyond a gap of 29.84 or 30.44.
    assert found.offered is offered
    assert is_offered(opening, estimate.ledger(opening))[0] is offered


@pytest.mark.parametrize(
    ("gap", "left", "reason"),
    [
        # With r left and r + 1 seams of 0.02 planned and believed: the gap less seams and r x 5.00 is the shortage.
        (20.10 - 4 * 0.03, 4, ""),
        (20.10 - 4 * 0.06, 4, "over_one_per_cent"),
        (15.08, 3, ""),
        (15.08 - 3 * 0.019, 3, ""),
        (15.08 - 3 * 0.021, 3, "last_three"),
        (10.06, 2, ""),
        (10.06 - 2 * 0.019, 2, ""),
        (10.06 - 2 * 0.021, 2, "last_three"),
        (10.06 + 2 * 0.021, 2, "last_three"),
    ],
)
def test_last_three_are_offered_new_widths_whenever_there_is_news(gap: float, left: int, reason: str) -> None:
    still = {2: "34", 3: "345", 4: "3456"}[left]
    opening = even_hull(30.14)
    strakes = tuple(
        one if one.label in still else replace(one, state="hung", hung_order=int(one.label))
        for one in opening.strakes
    )
    hung = frozenset("123456") - frozenset(still)
    gaps = tuple(replace(one, gap_mm=gap, hung=hung, u_mm=1e-4) for one in opening.gaps)

    found = recut(replace(opening, strakes=strakes, gaps=gaps))

    assert (found.offered, found.reason) == (bool(reason), reason)


def test_what_the_doubt_may_account_for_is_no_reason_to_recut() -> None:
    """Short by 0.06 a strake of six: offered where the doubt a strake is under (0.06 - 0.02) / 1.645 = 0.0243 mm."""
    found = [why_offered(6, 0.06, 5.0, doubt) for doubt in (0.0242, 0.0244)]

    assert found == ["over_one_per_cent", ""]


def test_just_as_much_as_a_limit_is_not_more_than_it() -> None:
    # 1 % of 4.00 is 0.04; 0.02 is no news; 1.645 / 128 + 0.02 less 1.645 times a doubt of 1/128 is 0.02.
    size = 1.645 / 128 + 0.02
    assert size - 1.645 / 128 == 0.02

    found = [why_offered(6, 0.04, 4.0, 0.0), why_offered(2, 0.02, 5.0, 0.0), why_offered(6, size, 3.0, 1 / 128)]

    assert found == ["", "", ""]
    assert why_offered(6, size + 1e-9, 3.0, 1 / 128) == "over_one_per_cent"


def test_nothing_known_is_no_reason_to_recut() -> None:
    opening = even_hull(30.14)

    found = recut(replace(opening, gaps=(), girths=(), girth_planned_mm=None))

    assert (found.offered, found.reason) == (False, "")
    assert why_offered(2, 0.5, 5.0, 5.0) == "last_three"
    assert why_offered(2, 0.5, 5.0, 5.01) == ""


def test_closing_strake_takes_less_of_what_is_short_and_a_locked_one_none() -> None:
    """By hand: two strakes short by S, target shares of S 1 : c. With d the difference of their changes the sum
    of squares is (d - d0)^2 / 2 + 0.5 d^2 + 0.1 d^2 / 2 (the steps to the hung neighbours), d0 = (1 - c) / (1 + c) S,
    so d = d0 / 2.1.
    """
    strakes = (
        Strake("1", "keel", {"D": 5.0}, state="before_log"),
        Strake("2", "closing", {"D": 5.0}),
        Strake("3", "wale", {"D": 5.0}),
        Strake("4", "wale", {"D": 5.0}, state="before_log"),
    )
    gaps = (GapReading("D", 9.80, frozenset({"1", "4"}), 1e-4),)
    opening = Opening("port", (Station("D"),), strakes, gaps=gaps, seam_mm=0.0, u_seam_mm=1e-6, seam_scatter_mm=1e-6)

    found = table(recut(opening), "D")
    apart = (1 - CLOSING_SHARE) / (1 + CLOSING_SHARE) * 0.2 / 2.1

    assert found["2"] - found["3"] == pytest.approx(apart, abs=1e-5)
    assert found["2"] + found["3"] == pytest.approx(9.80, abs=1e-3)
    assert table(recut(opening, locked=("3",)), "D") == pytest.approx({"3": 5.0, "2": 4.80}, abs=1e-3)


def test_the_habit_is_taken_off_every_strake_but_the_closing_one() -> None:
    names = ("A", "B")
    strakes = tuple(
        Strake(
            str(n),
            "closing" if n == 3 else "keel" if n < 3 else "wale",
            dict.fromkeys(names, 5.0),
            state="hung" if n > 4 else "open",
            hung_order=n if n > 4 else None,
        )
        for n in range(1, 15)
    )
    widths = tuple(WidthReading(str(n), name, 5.06, "A") for n in range(5, 15) for name in names)
    opening = Opening(
        "port",
        tuple(map(Station, names)),
        strakes,
        widths=widths,
        epochs=(Epoch("A", "caliper", 0.02, 0.001),),
    )

    found = recut(opening, "even")
    card = card_widths(opening, "4")

    # Ten strakes wide by 0.06: the shrunk habit of that run lies a little under it, of the other run much
    # under it.
    by = {one.strake: one for one in found.widths if one.station == "A"}
    assert by["3"].habit_mm == 0.0
    assert by["3"].cut_to_mm == by["3"].wanted_mm
    assert 0.03 < by["4"].habit_mm < 0.06
    assert 0.0 < by["2"].habit_mm < by["4"].habit_mm
    assert by["4"].cut_to_mm == pytest.approx(by["4"].wanted_mm - by["4"].habit_mm)
    assert card[0].habit_mm == pytest.approx(by["4"].habit_mm)
    assert card[0].wanted_mm == 5.0


def test_aims_kept_with_the_strake_keep_the_habit_from_vanishing() -> None:
    # Strakes aimed 0.06 low came out as planned; the habit is still 0.06, not nought.
    names = ("A", "B")

    def hull(aim: float | None) -> Opening:
        strakes = tuple(
            Strake(
                str(n),
                "wale",
                dict.fromkeys(names, 5.0),
                aim_mm=None if aim is None or n < 3 else dict.fromkeys(names, aim),
                state="hung" if n > 2 else "open",
                hung_order=n if n > 2 else None,
            )
            for n in range(1, 13)
        )
        widths = tuple(WidthReading(str(n), name, 5.0, "A") for n in range(3, 13) for name in names)
        return Opening(
            "port", tuple(map(Station, names)), strakes, widths=widths, epochs=(Epoch("A", "c", 0.02, 0.001),)
        )

    assert card_widths(hull(4.94), "2")[0].habit_mm > 0.03
    assert card_widths(hull(None), "2")[0].habit_mm == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("mode", MODES)
def test_a_strake_that_stops_short_has_no_width_beyond(mode: str) -> None:
    found = recut(brig("port"), mode)

    assert "FH" not in found.of("8")
    assert len(found.of("8")) == 10


def test_nothing_left_to_cut_is_refused() -> None:
    opening = even_hull(30.14)
    hung = tuple(replace(one, state="hung", hung_order=int(one.label)) for one in opening.strakes)

    with pytest.raises(PlankingError) as caught:
        recut(replace(opening, strakes=hung))

    assert caught.value.field == "strakes"


def test_unknown_mode_is_refused() -> None:
    with pytest.raises(PlankingError) as caught:
        recut(even_hull(30.0), "nicely")

    assert caught.value.field == "mode"


def test_a_rough_front_is_smoothed_and_a_smooth_one_left_alone() -> None:
    draw = np.random.default_rng(7)
    names = tuple(f"S{n}" for n in range(12))

    def hull(sigma: float) -> Opening:
        strakes = tuple(
            Strake(
                str(n),
                "closing" if n == 2 else "keel" if n < 3 else "wale",
                dict.fromkeys(names, 5.0),
                state="hung" if n > 4 else "open",
                hung_order=n if n > 4 else None,
            )
            for n in range(1, 11)
        )
        widths = tuple(
            WidthReading(str(n), name, float(5 + draw.normal(0, sigma)), "A")
            for n in range(5, 11)
            for name in names
        )
        stations = tuple(Station(name, 10.0 * n) for n, name in enumerate(names))
        return Opening("port", stations, strakes, widths=widths, epochs=(Epoch("A", "c", 0.02, 0.01),))

    from planking.steps import is_rough

    rough, smooth = hull(0.12), hull(0.02)
    assert is_rough(rough, estimate.ledger(rough))
    assert not is_rough(smooth, estimate.ledger(smooth))
