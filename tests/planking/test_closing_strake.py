"""The closing strake foretold: closed forms, chances, strakes early and late."""

import math
from dataclasses import replace

import pytest
from scipy.special import stdtr

from planking.closing_strake import closing_strake, strakes_early
from planking.errors import PlankingError
from planking.opening import GapReading, Opening, Station, Strake
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
