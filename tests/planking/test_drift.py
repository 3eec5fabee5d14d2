"""The four verdicts and their sums, on the invented brig and on small openings worked by hand."""

import json
import math
from dataclasses import replace

import pytest

from planking.drift import review
from planking.opening import Epoch, GapReading, GirthReading, Limits, Opening, Station, Strake, WidthReading
from planking.plain_sum import plain_sum
from tests.planking.brig import DATA, brig

SIDES = ("port", "starboard")
CASES = [(side, station) for side in SIDES for station in DATA["stations"]]
TO_A_HUNDREDTH = 0.0101


def three(
    gap: float | None, *, run: str = "wale", u: float = 0.05, limits: Limits | None = None, **facts: object
) -> Opening:
    """Three strakes of 5.00 at one station, seams planned as they are, with a gap read on the open hull."""
    strakes = tuple(Strake(label, "closing" if label == "2" else run, {"D": 5.0}) for label in "123")
    gaps = () if gap is None else (GapReading("D", gap, frozenset(), u),)
    given = {"planned_seam_mm": 0.03, "u_seam_mm": 0.003, "gaps": gaps, "limits": limits or Limits()} | facts
    return Opening("port", (Station("D"),), strakes, **given)


@pytest.mark.parametrize(("side", "station"), CASES)
def test_gap_check_of_the_brig_comes_out_to_a_hundredth(side: str, station: str) -> None:
    row = {
        key: float(value) for key, value in DATA["sides"][side]["check"][station].items() if key[-2:] != "in"
    }

    found = review(brig(side)).at(station)

    assert found.planned_gap_mm == pytest.approx(row["planned_gap"], abs=TO_A_HUNDREDTH)
    assert found.gap_mm == pytest.approx(row["measured_gap"], abs=1e-9)
    assert found.short_mm == pytest.approx(row["short_by"], abs=TO_A_HUNDREDTH)
    assert found.parts.widths_mm == pytest.approx(row["widths_corrected"], abs=TO_A_HUNDREDTH)
    assert found.parts.girth_mm == pytest.approx(-row["girth_diff"], abs=TO_A_HUNDREDTH)
    assert found.parts.seams_mm + found.parts.left_over_mm == pytest.approx(
        row["left_over_corrected"], abs=TO_A_HUNDREDTH
    )
    assert found.parts.seams == row["seams_so_far"]
    assert found.seam_mm == pytest.approx(row["per_seam"], abs=0.0002)
    assert found.even[0].even_mm == pytest.approx(row["recut_strake"], abs=TO_A_HUNDREDTH)
    assert found.left_alone_mm == pytest.approx(row["closing_strake_if_not_recut"], abs=TO_A_HUNDREDTH)
    assert found.step_mm == pytest.approx(row["step_if_not_recut"], abs=TO_A_HUNDREDTH)


def test_port_is_told_to_spread_it_at_every_station() -> None:
    found = review(brig("port"))

    assert found.verdict == "spread_it"
    assert {one.station: one.verdict for one in found.stations} == dict.fromkeys(
        DATA["stations"], "spread_it"
    )
    assert (found.worst, found.also) == ("D", "DF")
    assert found.sentence == (
        "Spread it. Port gap short by 0.40 at D, 0.33 at dead flat (there widths 0.13, seams 0.20). "
        "Strake 7 left alone: 3.94 at D, planned 4.43; 4.08 at dead flat, planned 4.50. "
        "So at all 11 stations. Strakes 9 to 5 at 4.41 each at dead flat."
    )
    assert found.gap_checks_due == ()
    assert (found.new_widths_offered, found.new_widths_reason) == (True, "over_one_per_cent")


def test_starboard_is_told_to_carry_on_at_h_and_dead_flat_and_spread_it_at_the_rest() -> None:
    found = review(brig("starboard"))

    carries_on = [one.station for one in found.stations if one.verdict == "carry_on"]
    assert carries_on == ["H", "DF"]
    assert sum(one.verdict == "spread_it" for one in found.stations) == 9
    assert found.sentence.endswith("So at 9 stations; carry on at H and dead flat.")


@pytest.mark.parametrize("hung", [0, 1, 7, 9, 14])
@pytest.mark.parametrize("side", SIDES)
def test_before_any_gap_was_read_every_station_says_measure_the_gap(side: str, hung: int) -> None:
    found = review(brig(side, gaps=False, hung=hung))

    assert {one.verdict for one in found.stations} == {"measure_gap"}
    assert found.verdict == "measure_gap"
    assert set(found.gap_checks_due) == set(DATA["stations"])


@pytest.mark.parametrize("side", SIDES)
def test_every_group_of_a_sum_adds_up_exactly_as_shown(side: str) -> None:
    for station in review(brig(side)).stations:
        added, totals = 0.0, 0
        for line in station.sum:
            if line.kind == "heading":
                added = 0.0
            elif line.kind == "term":
                added = round(added + float(line.shown.replace("−", "-")), 2)
            elif line.kind == "total":
                totals += 1
                assert added == float(line.shown.replace("−", "-")), (station.station, line)
        assert totals == 4


@pytest.mark.parametrize(
    ("gap", "verdict", "reason"),
    [
        # Planned gap 3 x 5.00 + 4 x 0.03 = 15.12; the eye forgives 4 % of 5.00 = 0.20 in the closing strake
        # and
        # 2 x 0.20 + 0.50 = 0.90 over all; doubt 0.05, seams 4 x 0.003, scatter 2 x 0.01; guard 1.645 x 0.055
        # = 0.091.
        (15.12, "carry_on", "inside_limit"),
        (15.02, "carry_on", "inside_limit"),
        (14.80, "spread_it", "shows_left_alone"),
        (15.44, "spread_it", "shows_left_alone"),
        (14.25, "spread_it", "shows_left_alone"),
        (14.12, "change_plan", "shows_when_spread"),
        (16.12, "change_plan", "shows_when_spread"),
    ],
)
def test_verdict_follows_the_limits_worked_by_hand(gap: float, verdict: str, reason: str) -> None:
    found = review(three(gap)).stations[0]

    assert (found.verdict, found.reason) == (verdict, reason)
    assert found.capacity_mm == pytest.approx(0.90)
    assert found.step_limit_mm == pytest.approx(0.20)
    assert found.doubt_mm == pytest.approx(math.sqrt(0.05**2 + (4 * 0.003) ** 2 + 4 * 0.01**2))


def test_doubt_at_the_limit_is_decided_by_the_best_estimate_and_said() -> None:
    inside, outside = review(three(14.94)).stations[0], review(three(14.90)).stations[0]

    assert (inside.verdict, inside.about_at_limit) == ("carry_on", True)
    assert (outside.verdict, outside.about_at_limit) == ("spread_it", True)
    assert "About at the limit." in inside.sentence


def test_change_plan_names_the_count_that_would_do() -> None:
    found = review(three(19.62))

    # Five left in 19.62 would be narrow; four take 19.62 less 5 seams = 19.47, or 4.87 each, nearest the
    # planned 5.00.
    assert found.verdict == "change_plan"
    assert found.counts_that_would_do[0].strakes_left == 4
    assert found.counts_that_would_do[0].narrowest_mm == pytest.approx((19.62 - 5 * 0.03) / 4)
    assert "4 strakes left would do: 4.87." in found.stations[0].sentence


def test_limits_of_the_wood_make_it_a_change_of_plan() -> None:
    found = review(three(15.40, limits=Limits(stock_width_mm=5.02)))

    # Over by 0.28 and the stock lets three strakes take only 0.02 each.
    assert found.verdict == "change_plan"
    assert found.stations[0].capacity_mm == pytest.approx(0.06)


def test_one_station_alone_does_not_change_the_plan_of_an_opening_but_two_neighbours_do() -> None:
    names = ("D", "E", "F")
    strakes = tuple(Strake(label, "wale", dict.fromkeys(names, 5.0)) for label in "123")

    def verdict(*gaps: float) -> str:
        given = tuple(GapReading(name, gap, frozenset(), 0.05) for name, gap in zip(names, gaps, strict=True))
        return review(
            Opening(
                "port", tuple(map(Station, names)), strakes, gaps=given, planned_seam_mm=0.03, u_seam_mm=0.003
            )
        ).verdict

    assert verdict(15.12, 14.0, 15.12) == "spread_it"
    assert verdict(14.0, 15.12, 14.0) == "spread_it"
    assert verdict(14.0, 14.0, 15.12) == "change_plan"


def test_gaps_only_are_short_with_cause_not_known() -> None:
    strakes = (
        *(Strake(label, "keel", {}, state="before_log") for label in "12"),
        *(Strake(label, "wale", {"D": 5.0}) for label in "345"),
    )
    gaps = (GapReading("D", 14.72, frozenset("12"), 0.10),)

    found = review(Opening("port", (Station("D"),), strakes, gaps=gaps))

    assert found.verdict == "spread_it"
    assert found.stations[0].parts is None
    assert not found.stations[0].cause_known
    assert "cause not known" in found.sentence


def test_strakes_hung_before_this_log_were_on_at_every_reading() -> None:
    strakes = (
        *(Strake(label, "keel", {"D": 5.0}, state="before_log") for label in "12"),
        *(Strake(label, "wale", {"D": 5.0}) for label in "345"),
    )

    named, unnamed = (
        review(
            Opening("port", (Station("D"),), strakes, gaps=(GapReading("D", 14.72, frozenset(hung), 0.10),))
        )
        for hung in ("12", "")
    )

    assert unnamed == named
    assert unnamed.stations[0].hung_since == ()


def test_widths_hung_since_the_gap_bring_it_forward() -> None:
    opening = three(15.12)
    hung = (replace(opening.strakes[0], state="hung", hung_order=1), *opening.strakes[1:])
    epochs = (Epoch("A", "caliper", 0.02, 0.02),)
    opening = replace(opening, strakes=hung, epochs=epochs, widths=(WidthReading("1", "D", 5.20, "A"),))

    found = review(opening).stations[0]

    # 15.12 - 5.20 - 0.03 = 9.89; planned 2 x 5.00 + 3 x 0.03 = 10.09; short by 0.20.
    assert found.gap_mm == pytest.approx(9.89)
    assert found.short_mm == pytest.approx(0.20)
    assert found.hung_since == ("1",)
    by_hand = math.sqrt(0.05**2 + 0.02**2 + 0.02**2 + 4 * 0.01**2 + (4 * 0.003) ** 2)
    assert plain_sum(opening, "D").doubt_mm == pytest.approx(by_hand)
    # The ledger knows besides how the strake was aimed and how far cuts scatter, so it is a little surer.
    assert 0.97 * by_hand < found.doubt_mm < by_hand


def test_zero_of_one_instrument_adds_strake_by_strake_in_the_drift_of_a_run() -> None:
    # GUM 5.2 (correlated inputs): 12 strakes, u_m 0.02, u_z 0.03: reading part 0.02 x sqrt(12) = 0.069, zero
    # part 12 x 0.03 =
    # 0.360.
    strakes = tuple(Strake(str(n), "wale", {"D": 5.0}, state="hung", hung_order=n) for n in range(1, 13))
    widths = tuple(WidthReading(one.label, "D", 5.01, "A") for one in strakes)

    found = review(
        Opening("port", (Station("D"),), strakes, widths=widths, epochs=(Epoch("A", "caliper", 0.02, 0.03),))
    ).stations[0]

    assert found.wale_drift[-1].cumulative_mm == pytest.approx(0.12)
    assert found.wale_drift[-1].doubt_mm == pytest.approx(math.hypot(0.02 * math.sqrt(12), 0.36))


def test_closing_strake_alone_is_made_to_the_gap() -> None:
    opening = three(5.30)
    hung = tuple(
        one if one.label == "2" else replace(one, state="hung", hung_order=index)
        for index, one in enumerate(opening.strakes)
    )
    gaps = (GapReading("D", 5.30, frozenset("13"), 0.05),)

    found = review(replace(opening, strakes=hung, gaps=gaps))

    # 5.30 less 2 seams of 0.03 is 5.24.
    assert (found.verdict, found.stations[0].reason) == ("carry_on", "made_to_gap")
    assert found.stations[0].left_alone_mm == pytest.approx(5.24)
    assert found.stations[0].sentence.startswith("Strake 2 wants 5.24 at D: make it to the gap.")
    assert (found.new_widths_offered, found.new_widths_reason) == (True, "last_three")


def test_nothing_measured_asks_for_the_gap() -> None:
    found = review(three(None))

    assert (found.verdict, found.stations[0].reason) == ("measure_gap", "nothing_known")
    assert found.stations[0].gap_mm is None
    assert found.gap_checks_due == ("D",)


def test_all_hung_is_closed() -> None:
    opening = three(None)
    hung = tuple(
        replace(one, state="hung", hung_order=index) for index, one in enumerate(opening.strakes, start=1)
    )

    found = review(replace(opening, strakes=hung))

    assert (found.verdict, found.reason, found.sentence) == ("carry_on", "closed", "Port: closed.")
    assert not found.new_widths_offered


def test_a_review_can_be_stored_as_json() -> None:
    found = review(brig("port")).as_json()

    assert json.loads(json.dumps(found, allow_nan=False))["stations"][4]["station"] == "D"


def test_girth_alone_can_say_carry_on_when_it_is_sure() -> None:
    girths = (GirthReading("D", 15.12, 0.01),)

    found = review(three(None, girths=girths, girth_planned_mm={"D": 15.12})).stations[0]

    assert (found.verdict, found.gap_from_widths_mm) == ("carry_on", pytest.approx(15.12))


@pytest.mark.parametrize("hung", range(15))
@pytest.mark.parametrize("side", SIDES)
def test_no_count_of_strakes_hung_breaks_the_review(side: str, hung: int) -> None:
    found = review(brig(side, hung=hung, gaps=False))

    assert found.hung == hung
    assert all(math.isfinite(one.doubt_mm) for one in found.stations)


def six(gap: float) -> Opening:
    """Six strakes of 5.00 left and seven seams of 0.03 planned: 30.21; the gap read on the open hull."""
    strakes = tuple(Strake(label, "wale", {"D": 5.0}) for label in "123456")
    gaps = (GapReading("D", gap, frozenset(), 0.02),)
    return Opening("port", (Station("D"),), strakes, planned_seam_mm=0.03, u_seam_mm=0.001, gaps=gaps)


@pytest.mark.parametrize(
    ("short", "offered"), [(0.306, True), (0.294, False), (-0.306, True), (-0.294, False), (0.0, False)]
)
def test_new_widths_are_offered_beyond_one_per_cent_a_strake(short: float, offered: bool) -> None:
    # One per cent of 5.00 is 0.05 a strake, 0.30 over six.
    found = review(six(30.21 - short))

    assert (found.new_widths_offered, found.new_widths_reason) == (
        offered,
        "over_one_per_cent" if offered else "",
    )


def test_changes_of_two_hundredths_are_no_news() -> None:
    def three_left(short: float) -> int:
        return len(review(three(15.12 - short)).news)

    assert three_left(3 * 0.0205) == 3
    assert three_left(3 * 0.0195) == 0
    assert three_left(-3 * 0.0205) == 3


def test_nothing_is_offered_where_nothing_is_known_or_left() -> None:
    assert review(three(None)).new_widths_offered is False
    assert review(three(None)).news == ()


def test_doubt_that_one_reading_would_leave_is_the_strip_and_the_seams_to_come() -> None:
    opening = replace(three(None), girth_planned_mm={"D": 15.12})

    found = review(opening).stations[0]

    assert found.doubt_after_reading_mm == pytest.approx(math.sqrt(0.10**2 + 4 * 0.01**2 + (4 * 0.003) ** 2))
    assert found.doubt_mm > found.doubt_after_reading_mm
    assert f"one reading takes it to {found.doubt_after_reading_mm:.2f}" in found.sentence


def test_a_sure_sum_takes_nothing_from_another_reading() -> None:
    found = review(three(15.12, u=0.02)).stations[0]

    assert found.doubt_after_reading_mm == found.doubt_mm


def test_repeatability_of_the_finest_instrument_bounds_the_step() -> None:
    epochs = (Epoch("A", "rule", 0.15, 0.02), Epoch("B", "dividers", 0.12, 0.02))

    # Twice 0.12 is more than 4 % of 5.00.
    assert review(three(15.12, epochs=epochs)).stations[0].step_limit_mm == pytest.approx(0.24)


def test_share_of_the_eye_is_the_shortage_over_the_capacity() -> None:
    found = review(three(14.67)).stations[0]

    assert found.share_of_eye == pytest.approx(0.45 / 0.90)
    assert found.to_take_up_mm == pytest.approx(0.45)


def test_a_gap_that_is_over_is_spread_by_widening() -> None:
    found = review(three(15.57)).stations[0]

    assert [one.even_mm for one in found.even] == pytest.approx([5.15] * 3)
    assert found.sentence.endswith("each is 0.15 wider: 5.15 each.")
    assert found.left_alone_mm == pytest.approx(5.45)
