"""Laws that hold for any opening at all: drop strakes, gaps in the log, two instruments, cut and unhung, one
run only."""

import json
import math
from dataclasses import replace

import pytest

from planking.closing_strake import closing_strake
from planking.drift import review
from planking.opening import Limits, Opening
from planking.plain_sum import closing_of
from planking.recut import recut
from planking.reviewed import OpeningReview, SumLine
from tests.planking.brig import ORDER, brig
from tests.planking.test_estimate import drawn

SEEDS = range(60)


def figure(line: SumLine) -> float:
    return float(line.shown.replace("−", "-"))


def check_sums(found: OpeningReview) -> None:
    for station in found.stations:
        added = 0.0
        for line in station.sum:
            if line.kind == "heading":
                added = 0.0
            elif line.kind == "term":
                added = round(added + figure(line), 2)
            elif line.kind == "total":
                assert added == figure(line), (station.station, line)
        if station.parts is not None:
            parts = station.parts
            total = parts.in_plan_mm + parts.widths_mm + parts.girth_mm + parts.seams_mm + parts.weighed_mm
            assert round(total + parts.left_over_mm, 2) == parts.total_mm
            assert parts.total_mm == pytest.approx(station.short_mm, abs=0.00501)


@pytest.mark.parametrize("seed", SEEDS)
def test_every_sum_adds_up_and_the_review_is_json(seed: int) -> None:
    found = review(drawn(seed))

    check_sums(found)
    json.dumps(found.as_json(), allow_nan=False)
    assert found.sentence.endswith(".")
    assert all(one.sentence.endswith(".") for one in found.stations)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_verdict_keeps_its_own_rule(seed: int) -> None:
    for one in review(drawn(seed)).stations:
        if one.to_take_up_mm is None or not one.left:
            continue
        size, band = abs(one.to_take_up_mm), 1.645 * one.doubt_mm
        if one.verdict == "change_plan":
            assert size - band > one.capacity_mm
        elif one.verdict == "carry_on" and len(one.left) > 1:
            assert size <= one.step_limit_mm
        elif one.verdict == "spread_it":
            assert size > one.step_limit_mm
            assert size - band <= one.capacity_mm


@pytest.mark.parametrize("seed", SEEDS)
def test_left_alone_and_even_follow_from_the_same_shortage(seed: int) -> None:
    for one in review(drawn(seed)).stations:
        if one.left_alone_mm is not None:
            assert one.closing_planned_mm - one.left_alone_mm == pytest.approx(one.to_take_up_mm)
        given_up = sum(width.planned_mm - width.even_mm for width in one.even)
        if one.even:
            assert given_up == pytest.approx(one.to_take_up_mm)


@pytest.mark.parametrize("seed", SEEDS)
def test_more_planned_width_makes_the_gap_shorter_by_as_much(seed: int) -> None:
    opening = drawn(seed)
    free = next((one for one in opening.strakes if one.state == "open" and one.planned_mm), None)
    if free is None:
        return
    station = next(iter(free.planned_mm))
    wider = replace(free, planned_mm={**free.planned_mm, station: free.planned_mm[station] + 0.5})
    changed = replace(opening, strakes=tuple(wider if one is free else one for one in opening.strakes))

    before, after = review(opening).at(station), review(changed).at(station)

    if before.short_mm is not None and after.short_mm is not None:
        assert after.short_mm - before.short_mm == pytest.approx(0.5, abs=before.doubt_mm + 1e-9)


@pytest.mark.parametrize("seed", SEEDS)
def test_forecast_and_recut_answer_or_refuse_in_words(seed: int) -> None:
    opening = drawn(seed)
    if all(one.state != "open" or not one.planned_mm for one in opening.strakes):
        return

    found = recut(opening)
    assert all(math.isfinite(one.cut_to_mm) for one in found.widths)
    told = closing_strake(opening) if reaches_somewhere(opening) else None
    for one in told.stations if told else ():
        assert one.low_mm <= one.expected_mm <= one.high_mm
        assert 0.0 <= one.too_narrow <= 1.0


def reaches_somewhere(opening: Opening) -> bool:
    """Whether the strake that would close has a width at some station; one of no width is refused."""
    left = tuple(reversed([one for one in opening.strakes if one.state == "open"]))
    return bool(left) and bool(closing_of(opening, left).planned_mm)


@pytest.mark.parametrize("hung", range(15))
@pytest.mark.parametrize("side", ["port", "starboard"])
def test_any_stage_of_the_brig_adds_up(side: str, hung: int) -> None:
    check_sums(review(brig(side, hung=hung, gaps=False)))


def test_a_strake_cut_but_not_hung_takes_its_room_and_gives_nothing() -> None:
    opening = brig("port")
    cut = replace(
        opening,
        strakes=tuple(replace(one, state="cut") if one.label == "9" else one for one in opening.strakes),
    )

    before, after = review(opening).at("D"), review(cut).at("D")

    assert [one.strake for one in after.even] == ["8", "7", "6", "5"]
    assert after.capacity_mm == pytest.approx(before.capacity_mm - 0.04 * before.even[0].planned_mm)
    assert after.to_take_up_mm == pytest.approx(before.to_take_up_mm, abs=0.01)
    check_sums(review(cut))


def test_one_run_to_a_fixed_line_closes_at_that_line() -> None:
    opening = brig("port", gaps=False, hung=4)
    below = tuple(replace(one, run="wale") for one in opening.strakes)

    found = review(replace(opening, strakes=below)).at("D")

    assert found.closing == "1"
    assert found.seams_to_go == len(found.left) + 1


def closed_brig() -> Opening:
    opening = brig("port")
    order = [*ORDER, "9", "5", "8", "6", "7"]
    hung = tuple(replace(one, state="hung", hung_order=order.index(one.label) + 1) for one in opening.strakes)
    # Invented sample: what was read of strake 7 and its neighbours at dead flat, 4.40, 4.45 and 4.38.
    read = {"8": 4.40, "7": 4.45, "6": 4.38}
    more = tuple(
        replace(opening.widths[0], strake=label, station="DF", width_mm=width)
        for label, width in read.items()
    )
    return replace(opening, strakes=hung, gaps=(), widths=(*opening.widths, *more))


def test_a_closed_hull_says_how_near_the_closing_strake_came() -> None:
    assert (
        review(closed_brig()).sentence
        == "Port: closed. Strake 7 is within 0.07 of its neighbours at dead flat."
    )


def test_limits_of_nothing_but_the_plan_leave_no_capacity() -> None:
    opening = replace(brig("port"), limits=Limits(narrowest_share=1.0, widest_share=1.0))

    assert {one.verdict for one in review(opening).stations} == {"change_plan"}
