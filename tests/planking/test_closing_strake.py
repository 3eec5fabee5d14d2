"""The closing strake foretold: closed forms, chances, strakes early and late."""

import math
from dataclasses import replace

import pytest
from scipy.special import stdtr

from planking.closing_strake import closing_strake, strakes_early
from planking.errors import PlankingError
from planking.estimate import habit_here, ledger
from planking.estimate import room as room_of
from planking.opening import Epoch, GapReading, Limits, Opening, Station, Strake, WidthReading
from planking.recut import recut
from tests.planking.brig import DATA, brig


def hull(gap: float, **facts: object) -> Opening:
    """Three strakes of 5.00 left at one station, the closing one in the middle, the gap read."""
    strakes = tuple(Strake(label, "closing" if label == "2" else "wale", {"D": 5.0}) for label in "123")
    given = {"gaps": (GapReading("D", gap, frozenset(), 0.05),), "seam_mm": 0.03, "u_seam_mm": 0.001} | facts
    return Opening("port", (Station("D"),), strakes, **given)


def test_forecast_of_a_bare_station_is_worked_by_hand() -> None:
    found = closing_strake(hull(15.12)).at("D")

    # 15.12 - 4 x 0.03 - 2 x 5.00 = 5.00. u^2: gap 0.05^2, seams (4 x 0.001)^2 + 4 x 0.01^2, and of two
    # strakes to be
    # cut: scatter 2 x 0.06^2, habit 2^2 x (0.04^2 + 0.03^2), local 2^2 x 0.02^2.
    u2 = 0.05**2 + 0.004**2 + 4 * 0.01**2 + 2 * 0.06**2 + 4 * (0.04**2 + 0.03**2) + 4 * 0.02**2
    assert found.expected_mm == pytest.approx(5.00, abs=1e-5)
    assert found.u_mm == pytest.approx(math.sqrt(u2), rel=1e-5)
    # One part is learned with two degrees: Vs = 2 x 0.06^2 + 2^2 x 0.65 x 0.06^2 / 1 strake at the least.
    unsure = min(0.95 * u2, 2 * 0.06**2 + 4 * 0.65 * 0.06**2)
    assert found.freedom == pytest.approx(2 * (u2 / unsure) ** 2, rel=1e-5)


def test_interval_and_chances_follow_students_t() -> None:
    found = closing_strake(hull(12.6)).at("D")

    half = found.high_mm - found.expected_mm
    assert stdtr(found.freedom, half / found.u_mm) == pytest.approx(0.975, abs=1e-9)
    assert found.too_narrow == pytest.approx(stdtr(found.freedom, (2.5 - found.expected_mm) / found.u_mm))
    assert 0.4 < found.too_narrow < 0.6
    assert found.touching < found.too_narrow
    assert found.too_wide < 0.01


def test_a_recut_takes_the_shortage_off_the_closing_strake() -> None:
    opening = brig("port")

    alone, recut = closing_strake(opening), closing_strake(opening, "recut")

    for station in DATA["stations"]:
        one, other = alone.at(station), recut.at(station)
        assert other.expected_mm - other.planned_mm == pytest.approx(
            (one.expected_mm - one.planned_mm) / 5, abs=0.06
        )
        assert other.u_mm == pytest.approx(one.u_mm)
    assert alone.strake == "7"


def test_left_alone_strake_seven_of_the_brig_is_far_under_its_plan() -> None:
    found = closing_strake(brig("port")).at("DF")

    # The sum says 4.08; the forecast adds what the hand is believed to do with the four strakes before it.
    assert found.expected_mm == pytest.approx(4.08, abs=0.12)
    assert found.low_mm < 4.08 < found.high_mm


def test_chance_anywhere_is_bracketed_by_the_worst_and_the_sum() -> None:
    found = closing_strake(brig("port"))

    chances = [one.too_narrow + one.too_wide for one in found.stations]
    assert found.anywhere_at_least == pytest.approx(max(chances))
    assert found.anywhere_at_most == pytest.approx(min(1.0, sum(chances)))
    assert found.worst in DATA["stations"]


@pytest.mark.parametrize(
    ("closing", "rest", "told"),
    [
        (4.8, [5.0, 5.0], (0, True)),
        (2.0, [5.0, 5.0], (1, True)),
        (-0.5, [5.0, 5.0], (1, True)),
        (-3.0, [5.0], (1, False)),
        (8.0, [5.0, 5.0], (-1, True)),
        (18.0, [5.0], (-3, True)),
        (2.5, [], (0, True)),
        (1.0, [], (0, False)),
    ],
)
def test_strakes_early_or_late(closing: float, rest: list[float], told: tuple[int, bool]) -> None:
    assert strakes_early(closing, rest, 2.5, 7.5) == told


def test_the_last_strake_alone_has_the_doubt_of_the_gap_only() -> None:
    opening = hull(5.06)
    hung = tuple(
        one if one.label == "2" else replace(one, state="hung", hung_order=int(one.label))
        for one in opening.strakes
    )
    opening = replace(opening, strakes=hung, gaps=(GapReading("D", 5.06, frozenset("13"), 0.05),))

    found = closing_strake(opening).at("D")

    assert found.expected_mm == pytest.approx(5.00, abs=1e-3)
    assert found.u_mm == pytest.approx(math.sqrt(0.05**2 + 0.002**2 + 2 * 0.01**2), abs=2e-4)


def test_nothing_left_is_refused() -> None:
    opening = hull(5.0)
    hung = tuple(replace(one, state="hung", hung_order=int(one.label)) for one in opening.strakes)

    with pytest.raises(PlankingError) as caught:
        closing_strake(replace(opening, strakes=hung, gaps=()))

    assert caught.value.field == "strakes"


def under_way(**facts: object) -> Opening:
    """Seven strakes at two stations, two of them hung and read wide; strake 6 does not reach E."""
    runs = {"1": "keel", "2": "keel", "3": "keel", "4": "closing", "5": "wale", "6": "wale", "7": "wale"}
    order = {"7": 1, "1": 2}
    strakes = tuple(
        Strake(
            label,
            run,
            {"D": 5.0} if label == "6" else {"D": 5.0, "E": 4.0},
            state="hung" if label in order else "open",
            hung_order=order.get(label),
        )
        for label, run in runs.items()
    )
    read = {("7", "D"): 5.15, ("7", "E"): 4.13, ("1", "D"): 5.05, ("1", "E"): 4.03}
    given = {
        "widths": tuple(WidthReading(label, name, width, "A") for (label, name), width in read.items()),
        "gaps": (GapReading("D", 25.0, frozenset("17"), 0.05), GapReading("E", 16.2, frozenset("17"), 0.05)),
        "epochs": (Epoch("A", "caliper", 0.02, 0.02),),
        "seam_mm": 0.03,
    }
    return Opening("port", (Station("D", 0.0), Station("E", 100.0)), strakes, **(given | facts))


def test_left_alone_every_strake_takes_its_width_and_its_runs_habit() -> None:
    opening = under_way()
    solved = ledger(opening)
    room, wale, keel = room_of(solved).mean, habit_here(solved, "wale").mean, habit_here(solved, "keel").mean

    found = closing_strake(opening)

    # At D strakes 5 and 6 of the wale's run and 2 and 3 of the keel's are still to come; at E 6 is not there.
    assert found.at("D").expected_mm == pytest.approx(room[0] - 4 * 5.0 - 2 * wale[0] - 2 * keel[0])
    assert found.at("E").expected_mm == pytest.approx(room[1] - 3 * 4.0 - 1 * wale[1] - 2 * keel[1])
    assert wale[0] > keel[0] > 0


def test_a_recut_leaves_the_closing_strake_what_the_fair_widths_of_the_rest_leave_of_the_room() -> None:
    opening = under_way()
    room = room_of(ledger(opening)).mean
    fair = recut(opening, "fair")

    found = closing_strake(opening, "recut")

    for at, name in enumerate("DE"):
        rest = sum(one.wanted_mm for one in fair.widths if one.station == name and one.strake != found.strake)
        assert found.at(name).expected_mm == pytest.approx(room[at] - rest)
        assert found.at(name).expected_mm == pytest.approx(fair.of(found.strake)[name].wanted_mm)
    assert found.policy == "recut"
    assert [one.u_mm for one in found.stations] == pytest.approx([one.u_mm for one in closing_strake(opening).stations])


def test_freedom_follows_welch_and_satterthwaite_with_the_habits_own_share() -> None:
    # Both strakes hung were read, at one of the two stations only.
    opening = under_way()
    opening = replace(opening, widths=tuple(one for one in opening.widths if one.station == "D"))
    scatter = ledger(opening).scatter

    found = closing_strake(opening)

    for name, number in (("D", 4), ("E", 3)):
        one = found.at(name)
        # Two strakes were read, so the habit's own error is the scatter of a cut over two.
        unsure = number * (scatter.cut_mm2 + scatter.station_mm2) + number**2 * scatter.cut_mm2 / 2
        unsure = min(unsure, 0.95 * one.u_mm**2)
        assert one.freedom == pytest.approx(scatter.freedom * (one.u_mm**2 / unsure) ** 2)


def test_freedom_is_never_less_than_that_of_a_doubt_nearly_all_scatter() -> None:
    # A hand of 0.5 mm: the part is held to 0.95 of the whole, so nu = 2 / 0.95^2.
    assert closing_strake(hull(15.12, cutting_scatter_mm=0.5)).at("D").freedom == pytest.approx(2 / 0.95**2)


def test_nothing_to_be_cut_before_it_has_the_freedom_of_the_normal() -> None:
    opening = hull(5.06)
    hung = tuple(
        one if one.label == "2" else replace(one, state="hung", hung_order=int(one.label)) for one in opening.strakes
    )
    opening = replace(opening, strakes=hung, gaps=(GapReading("D", 5.06, frozenset("13"), 0.05),))

    found = closing_strake(opening).at("D")

    assert found.freedom == 1e6
    assert found.high_mm - found.expected_mm == pytest.approx(1.96 * found.u_mm, rel=1e-4)


def test_every_chance_is_a_tail_of_students_t() -> None:
    limits = Limits(narrowest_share=0.9, widest_share=1.1)

    told = closing_strake(hull(15.12, limits=limits))
    found = told.at("D")

    tail = [stdtr(found.freedom, (edge - found.expected_mm) / found.u_mm) for edge in (4.5, 0.0, 5.5)]
    assert (found.too_narrow, found.touching, found.too_wide) == pytest.approx((tail[0], tail[1], 1 - tail[2]))
    assert (found.planned_mm, found.early, found.fits) == (5.0, 0, True)
    # Too narrow and too wide are two troubles, and both may come.
    assert min(tail[0], 1 - tail[2]) > 1e-3
    assert told.anywhere_at_least == told.anywhere_at_most == pytest.approx(tail[0] + 1 - tail[2])


def test_chances_that_add_beyond_one_are_held_to_one_and_the_worst_is_named() -> None:
    gaps = (GapReading("D", 21.0, frozenset("17"), 0.02), GapReading("E", 12.4, frozenset("17"), 0.02))
    opening = under_way(gaps=gaps)

    found = closing_strake(opening)

    chances = {one.station: one.too_narrow + one.too_wide for one in found.stations}
    assert min(chances.values()) > 0.5
    assert found.anywhere_at_most == 1.0
    assert found.anywhere_at_least == pytest.approx(max(chances.values()))
    assert chances[found.worst] == max(chances.values())
    # About 0.8 at D and nothing at E: one strake of 5.00, or of 4.00, left out makes either a piece that fits.
    assert [(one.early, one.fits) for one in found.stations] == [(1, True), (1, True)]


def test_a_closing_strake_without_widths_is_refused() -> None:
    strakes = (Strake("1", "wale", {}), Strake("2", "wale", {"D": 5.0}, state="hung", hung_order=1))

    with pytest.raises(PlankingError) as caught:
        closing_strake(Opening("port", (Station("D"),), strakes))

    assert caught.value.field == "planned_mm"
    assert "Strake 1" in caught.value.sentence


@pytest.mark.parametrize(
    ("closing", "rest", "told"),
    [
        # On a limit it fits; a strake of no width here is none to leave out.
        (2.5, [5.0], (0, True)),
        (7.5, [5.0], (0, True)),
        (2.0, [5.0, 0.0], (1, True)),
        # The last to be cut is left out first: 2.0 + 3.0 fits, and so 4.0 before it is kept.
        (2.0, [4.0, 3.0], (1, True)),
        (-1.0, [4.0, 3.0], (2, True)),
        (-4.0, [4.0, 3.0], (2, True)),
        (-5.0, [4.0, 3.0], (2, False)),
        # Left out, it may leave too wide a piece: then none is added back.
        (2.0, [6.0], (1, False)),
        # Late: by strakes of the mean width, 4.0; with none left, by the middle of the limits, 5.0.
        (11.4, [3.0, 5.0], (-1, True)),
        (11.6, [3.0, 5.0], (-2, True)),
        (8.0, [], (-1, True)),
        (12.6, [], (-2, True)),
        (17.0, [], (-2, True)),
        (12.5, [], (-1, True)),
    ],
)
def test_strakes_early_or_late_on_the_limits(closing: float, rest: list[float], told: tuple[int, bool]) -> None:
    assert strakes_early(closing, rest, 2.5, 7.5) == told


def test_strakes_thinner_than_a_millimetre_are_counted_like_any() -> None:
    assert strakes_early(1.25, [0.5], 0.25, 1.0) == (-1, True)
    assert strakes_early(0.125, [0.5], 0.25, 1.0) == (1, True)


def test_limits_of_nothing_at_all_leave_nothing_to_count() -> None:
    assert strakes_early(1.0, [], 0.0, 0.0) == (0, False)
