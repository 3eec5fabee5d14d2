"""Single rules of the review, each on an opening small enough to be worked by hand; most stand exactly on a limit."""

from dataclasses import replace

import pytest

from planking.drift import capacity_mm, judge, review, run_drift, step_limit_mm
from planking.opening import Epoch, GapReading, GirthReading, Limits, Opening, Station, Strake, WidthReading
from planking.plain_sum import PlainSum, plain_sum
from planking.reviewed import OpeningReview
from tests.planking.brig import brig

LIMITS = Limits(step_share=0.25, closing_share=0.5)
"""Shares that binary figures hold exactly, so that a sum can stand on a limit and not beside it."""


def fours(short: float, **facts: object) -> Opening:
    """Three strakes of 4.00, no seams: the eye sees 1.00 in the closing strake and forgives 1 + 1 + 2 = 4.00."""
    strakes = tuple(Strake(label, "closing" if label == "2" else "wale", {"D": 4.0}) for label in "123")
    gaps = (GapReading("D", 12.0 - short, frozenset(), 0.05),)
    given = {"gaps": gaps, "limits": LIMITS, "seam_mm": 0.0} | facts
    return Opening("port", (Station("D"),), strakes, **given)


def known(opening: Opening) -> PlainSum:
    """The sum at D without any doubt."""
    return replace(plain_sum(opening, "D"), doubt_mm=0.0)


def all_hung(opening: Opening) -> Opening:
    hung = tuple(replace(one, state="hung", hung_order=at) for at, one in enumerate(opening.strakes, start=1))
    return replace(opening, strakes=hung, gaps=())


@pytest.mark.parametrize("is_due", [True, False])
@pytest.mark.parametrize(
    ("short", "verdict", "reason"),
    [
        (1.0, "carry_on", "inside_limit"),
        (-1.0, "carry_on", "inside_limit"),
        (1.0625, "spread_it", "shows_left_alone"),
        (4.0, "spread_it", "shows_left_alone"),
        (-4.0, "spread_it", "shows_left_alone"),
        (4.0625, "change_plan", "shows_when_spread"),
        (-4.0625, "change_plan", "shows_when_spread"),
    ],
)
def test_a_sure_sum_on_its_limit_is_inside_it(short: float, verdict: str, reason: str, is_due: bool) -> None:
    opening = fours(short)

    found = judge(opening, known(opening), is_due=is_due)

    assert (step_limit_mm(opening, known(opening)), capacity_mm(opening, known(opening))) == (1.0, 4.0)
    assert (found.verdict, found.reason, found.about_at_limit) == (verdict, reason, False)


@pytest.mark.parametrize(
    ("short", "doubt", "is_due", "told"),
    [
        # The doubt band is 1.645 x 0.25 = 0.41: 1.25 straddles the limit of 1.00, 1.50 does not, nor does 0.50.
        (1.25, 0.25, True, ("measure_gap", "check_due", False)),
        (1.25, 0.25, False, ("spread_it", "shows_left_alone", True)),
        (0.75, 0.25, False, ("carry_on", "inside_limit", True)),
        (1.50, 0.25, True, ("spread_it", "shows_left_alone", False)),
        (0.50, 0.25, True, ("carry_on", "inside_limit", False)),
        # And 3.75 straddles the capacity of 4.00, 3.50 does not; 4.50 is beyond it by more than the band.
        (3.75, 0.25, True, ("measure_gap", "check_due", False)),
        (4.25, 0.25, True, ("measure_gap", "check_due", False)),
        (4.25, 0.25, False, ("spread_it", "shows_left_alone", False)),
        (3.50, 0.25, True, ("spread_it", "shows_left_alone", False)),
        (4.50, 0.25, True, ("change_plan", "shows_when_spread", False)),
    ],
)
def test_a_doubt_that_straddles_a_limit_asks_for_a_gap_that_is_due(
    short: float, doubt: float, is_due: bool, told: tuple[str, str, bool]
) -> None:
    opening = fours(short)

    found = judge(opening, replace(known(opening), doubt_mm=doubt), is_due=is_due)

    assert (found.verdict, found.reason, found.about_at_limit) == told


def test_where_no_gap_was_ever_read_that_is_the_reason() -> None:
    opening = replace(fours(1.25), gaps=(), girth_planned_mm={"D": 10.75})

    found = judge(opening, replace(known(opening), doubt_mm=0.25), is_due=False)

    assert (found.verdict, found.reason) == ("measure_gap", "never_read")


def test_nothing_known_or_nothing_left_is_not_about_a_limit() -> None:
    unknown, closed = replace(fours(0.0), gaps=()), all_hung(fours(0.0))

    told = [judge(one, plain_sum(one, "D"), is_due=True) for one in (unknown, closed)]

    assert [(one.verdict, one.reason, one.about_at_limit) for one in told] == [
        ("measure_gap", "nothing_known", False),
        ("carry_on", "closed", False),
    ]


def test_a_station_may_close_before_the_opening_does() -> None:
    strakes = (
        Strake("1", "keel", {"D": 4.0, "E": 4.0}, state="hung", hung_order=1),
        Strake("2", "closing", {"E": 4.0}),
    )
    opening = Opening("port", (Station("D"), Station("E")), strakes)

    assert [one.reason for one in review(opening).stations] == ["closed_here", "nothing_known"]
    assert {one.reason for one in review(all_hung(opening)).stations} == {"closed"}


def test_strakes_left_are_named_from_the_wale_side() -> None:
    assert review(brig("port")).strakes_left == ("9", "8", "7", "6", "5")


def test_counts_that_would_do_are_told_only_where_the_plan_is_to_change() -> None:
    """Five of 4.00 planned in three strakes' room: told where a station says so, though the opening does not yet."""
    names = ("D", "E", "F")
    strakes = tuple(Strake(label, "wale", dict.fromkeys(names, 4.0)) for label in "12345")

    def told(*gaps: float) -> tuple[str, bool]:
        given = tuple(GapReading(name, gap, frozenset(), 0.05) for name, gap in zip(names, gaps, strict=True))
        found = review(Opening("port", tuple(map(Station, names)), strakes, gaps=given, seam_mm=0.0, u_seam_mm=1e-3))
        return found.verdict, bool(found.counts_that_would_do)

    assert told(20.0, 20.0, 20.0) == ("carry_on", False)
    assert told(19.5, 19.5, 19.5) == ("spread_it", False)
    assert told(17.0, 20.0, 20.0) == ("spread_it", True)
    assert told(17.0, 17.0, 17.0) == ("change_plan", True)


def test_a_strake_cut_too_wide_is_taken_up_by_those_left_and_needs_no_line_of_its_own() -> None:
    """Cut 4.25 for 4.00, in a gap as planned: two strakes are left to give up 0.25, and pencil and ledger agree."""
    opening = fours(0.0, epochs=(Epoch("A", "caliper", 0.02, 0.001),), u_seam_mm=1e-4, seam_scatter_mm=1e-4)
    cut = (replace(opening.strakes[0], state="cut"), *opening.strakes[1:])
    opening = replace(opening, strakes=cut, widths=(WidthReading("1", "D", 4.25, "A"),))

    found = review(opening).at("D")

    assert found.to_take_up_mm == pytest.approx(0.25, abs=1e-9)
    assert "weighed" not in " ".join(line.words for line in found.sum)
    assert [one.strake for one in found.even] == ["3", "2"]
    assert [one.even_mm for one in found.even] == pytest.approx([3.875, 3.875])
    assert found.capacity_mm == pytest.approx(3.0)


def test_a_run_drifts_from_its_fixed_line_towards_the_gap() -> None:
    """Four hung, two a run: 4.25 and 4.125 from the wale (6 first), 3.875 and 4.5 from the keel (1 first)."""
    hung = {"6": ("wale", 1), "1": ("keel", 2), "5": ("wale", 3), "2": ("keel", 4)}
    strakes = tuple(
        Strake(label, hung[label][0], {"D": 4.0}, state="hung", hung_order=hung[label][1])
        if label in hung
        else Strake(label, "closing", {"D": 4.0})
        for label in "12356"
    )
    read = {"6": 4.25, "5": 4.125, "1": 3.875, "2": 4.5}
    opening = Opening(
        "port",
        (Station("D"),),
        strakes,
        widths=tuple(WidthReading(label, "D", width, "A") for label, width in read.items()),
        epochs=(Epoch("A", "caliper", 0.03, 0.04),),
    )
    plain = plain_sum(opening, "D")

    wale, keel = run_drift(opening, plain, "wale"), run_drift(opening, plain, "keel")

    assert [(one.strake, one.cumulative_mm) for one in wale] == [("6", 0.25), ("5", 0.375)]
    assert [(one.strake, one.cumulative_mm) for one in keel] == [("1", -0.125), ("2", 0.375)]
    # One reading 0.03 beside its zero 0.04 is 0.05; two readings 0.03 x sqrt 2 beside a zero counted twice, 0.08.
    assert [one.doubt_mm for one in wale] == pytest.approx([0.05, (2 * 0.03**2 + 0.08**2) ** 0.5])


def told_at(*gaps: float | None, dead_flat: str | None = None, names: str = "DEFG") -> OpeningReview:
    """Three strakes of 4.00 at several stations, each with its gap read surely, or not at all."""
    here = names[: len(gaps)]
    strakes = tuple(Strake(label, "wale", dict.fromkeys(here, 4.0)) for label in "123")
    given = tuple(
        GapReading(name, gap, frozenset(), 0.01) for name, gap in zip(here, gaps, strict=True) if gap is not None
    )
    opening = Opening(
        "port", tuple(map(Station, here)), strakes, gaps=given, limits=LIMITS, seam_mm=0.0, u_seam_mm=1e-4,
        dead_flat=dead_flat,
    )  # fmt: skip
    return review(opening)


@pytest.mark.parametrize(
    ("gaps", "verdict", "reason", "worst"),
    [
        ((12.0, 12.0, 12.0), "carry_on", "inside_limit", "D"),
        ((12.0, 10.5, 12.0), "spread_it", "shows_left_alone", "E"),
        ((12.0, 10.5, 13.75), "spread_it", "shows_left_alone", "F"),
        ((7.0, 12.0, 7.0), "spread_it", "shows_left_alone", "D"),
        ((12.0, 7.0, 7.25), "change_plan", "shows_when_spread", "E"),
        ((7.0,), "change_plan", "shows_when_spread", "D"),
        ((12.0, None, None), "measure_gap", "nothing_known", "D"),
        ((10.5, None, None), "spread_it", "shows_left_alone", "D"),
        ((None, None, None), "measure_gap", "nothing_known", None),
    ],
)
def test_the_opening_says_what_its_stations_say_together(
    gaps: tuple[float | None, ...], verdict: str, reason: str, worst: str | None
) -> None:
    found = told_at(*gaps)

    assert (found.verdict, found.reason, found.worst) == (verdict, reason, worst)


def test_of_the_stations_that_wait_the_commoner_reason_is_told() -> None:
    names = "DEF"
    strakes = tuple(Strake(label, "wale", dict.fromkeys(names, 4.0)) for label in "123")
    girths = tuple(GirthReading(name, 10.75, 0.3) for name in "EF")
    opening = Opening("port", tuple(map(Station, names)), strakes, girths=girths, limits=LIMITS)

    found = review(opening)

    assert [one.reason for one in found.stations] == ["nothing_known", "never_read", "never_read"]
    assert (found.verdict, found.reason) == ("measure_gap", "never_read")


def test_dead_flat_is_told_beside_the_worst_where_it_is_another() -> None:
    assert told_at(12.0, 10.5, 12.0, dead_flat="F").also == "F"
    assert told_at(12.0, 10.5, 12.0, dead_flat="E").also is None
    # Named in the words for it, or else the widest; of equal ones the first.
    assert told_at(12.0, 10.5, 12.0).also == "D"
    assert told_at(10.5, 12.0, 12.0).also is None
    assert told_at(None, None, dead_flat="E").also is None


def test_the_widest_station_stands_for_dead_flat() -> None:
    strakes = tuple(Strake(label, "wale", {"D": 4.0, "E": 4.5}) for label in "123")
    gaps = (GapReading("D", 10.5, frozenset(), 0.01), GapReading("E", 13.5, frozenset(), 0.01))

    found = review(Opening("port", (Station("D"), Station("E")), strakes, gaps=gaps, limits=LIMITS, seam_mm=0.0))

    assert (found.worst, found.also) == ("D", "E")


def test_what_is_left_alone_and_even_is_worked_from_what_is_to_be_taken_up() -> None:
    """Short by 1.50 of three: the closing strake alone would be 2.50, a step of -1.50; even, 3.50 each."""
    found = review(fours(1.5)).at("D")

    assert (found.closing, found.closing_planned_mm, found.step_limit_mm) == ("2", 4.0, 1.0)
    assert (found.left_alone_mm, found.step_mm) == (pytest.approx(2.5), pytest.approx(-1.5))
    assert [(one.strake, one.planned_mm, one.even_mm) for one in found.even] == [
        (label, 4.0, pytest.approx(3.5)) for label in "321"
    ]
    assert found.share_of_eye == pytest.approx(1.5 / 4)
    assert found.capacity_mm == 4.0


def test_no_share_of_the_eye_where_nothing_is_forgiven() -> None:
    assert review(fours(1.5, limits=Limits(narrowest_share=1.0, widest_share=1.0))).at("D").share_of_eye is None
    assert review(replace(fours(1.5), gaps=())).at("D").share_of_eye is None


def test_capacity_narrows_to_the_limits_and_widens_to_them() -> None:
    """Short: down to 0.875 x 4 = 3.50, so 0.50 each; over: up to 1.0625 x 4 = 4.25, so 0.25 each."""
    limits = Limits(step_share=0.25, closing_share=0.5, narrowest_share=0.875, widest_share=1.0625)

    short, over = (fours(amount, limits=limits) for amount in (1.0, -1.0))

    assert capacity_mm(short, known(short)) == 1.5
    assert capacity_mm(over, known(over)) == 0.75
    level = fours(0.0, limits=limits)
    assert capacity_mm(level, known(level)) == 1.5
    unknown = replace(level, gaps=())
    assert capacity_mm(unknown, plain_sum(unknown, "D")) == 1.5


def test_a_drop_strake_has_no_part_where_it_is_not() -> None:
    """Strake 3 ends before E: there two are left of a gap of 8.00."""
    strakes = tuple(Strake(label, "wale", {"D": 4.0} | ({} if label == "3" else {"E": 4.0})) for label in "123")
    gaps = (GapReading("D", 12.0, frozenset(), 0.01), GapReading("E", 7.0, frozenset(), 0.01))
    opening = Opening("port", (Station("D"), Station("E")), strakes, gaps=gaps, limits=LIMITS, seam_mm=0.0)

    found = review(opening).at("E")

    assert found.left == ("2", "1")
    assert [one.even_mm for one in found.even] == pytest.approx([3.5, 3.5])


def test_a_strake_that_is_not_there_makes_no_station_wider() -> None:
    """At D three of 4.00, at E two of 5.75: 12.00 against 11.50, so D stands for dead flat though E is the worst."""
    strakes = tuple(Strake(label, "wale", {"D": 4.0} | ({} if label == "3" else {"E": 5.75})) for label in "123")
    gaps = (GapReading("D", 12.0, frozenset(), 0.01), GapReading("E", 9.0, frozenset(), 0.01))

    found = review(Opening("port", (Station("D"), Station("E")), strakes, gaps=gaps, limits=LIMITS, seam_mm=0.0))

    assert (found.worst, found.also) == ("E", "D")


def test_news_are_only_the_widths_that_change() -> None:
    found = told_at(12.0, 10.5)

    assert found.new_widths_offered
    assert [(one.strake, one.station) for one in found.news] == [("3", "E"), ("2", "E"), ("1", "E")]


def test_no_step_is_seen_where_nothing_is_left_to_close() -> None:
    closed = all_hung(fours(0.0))

    assert step_limit_mm(closed, plain_sum(closed, "D")) == 0.0


def test_the_doubt_after_a_reading_is_its_own_and_that_of_the_seams_to_go() -> None:
    """Two strakes left have three seams to go: 0.10 of the strip, three scatters, one seam three times unsure."""
    wide = fours(0.0, seam_scatter_mm=0.02, u_seam_mm=0.003, gaps=(GapReading("D", 8.0, frozenset({"3"}), 0.4),))
    opening = replace(wide, strakes=(*wide.strakes[:2], replace(wide.strakes[2], state="hung", hung_order=1)))

    found = review(opening).at("D")

    assert found.seams_to_go == 3
    assert found.doubt_after_reading_mm == pytest.approx((0.10**2 + 3 * 0.02**2 + (3 * 0.003) ** 2) ** 0.5, abs=1e-9)
