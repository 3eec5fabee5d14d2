"""Gap divided by strakes left."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planking.errors import PlankingError
from planking.limits import WidthLimits
from planking.next_widths import StationGap, next_widths


def at_m(gap, left=5, **more):
    return StationGap("M", Fraction(gap), left, **more)


def test_gap_of_2216_hundredths_for_five_strakes():
    # By hand: 22.16 / 5 = 4.432; five of 4.43 make 22.15, so 0.01 is over.
    found = next_widths([at_m("22.16")]).stations[0]

    assert found.next_mm == Fraction("4.432")
    assert found.sum == "22.16 / 5 = 4.43, 0.01 over"
    # Marks by running remainder: 4.43, 8.86, 13.30, 17.73, 22.16.
    assert [str(float(width)) for width in found.shown_mm] == ["4.43", "4.43", "4.44", "4.43", "4.43"]


@pytest.mark.parametrize(
    ("gap", "left", "seam", "tight", "words"),
    [
        ("20", 5, "0", True, "20.00 / 5 = 4.00"),
        ("10.05", 4, "0", True, "10.05 / 4 = 2.51, 0.01 over"),
        ("21.50", 5, "0.03", True, "(21.50 − 6 × 0.03) / 5 = 4.26, 0.02 over"),
        ("21.50", 5, "0.03", False, "(21.50 − 5 × 0.03) / 5 = 4.27"),
        ("10.05", 4, "0.014", True, "(10.05 − 5 × 0.014) / 4 = 2.50, 0.02 short"),
        ("4.90", 1, "0.05", True, "(4.90 − 2 × 0.05) / 1 = 4.80"),
        ("4.90", 1, "0", True, "4.90 / 1 = 4.90"),
    ],
    ids=[
        "comes out even",
        "a hundredth over",
        "both edges tight, one seam more than strakes",
        "one edge open, as many seams as strakes",
        "seam of a test joint to three places",
        "closing strake between two seams",
        "closing strake, no seams",
    ],
)
def test_sum_is_told_in_real_numbers(gap, left, seam, tight, words):
    found = next_widths([at_m(gap, left)], seam_mm=Fraction(seam), both_edges_tight=tight)

    assert found.stations[0].sum == words


def test_count_may_change_along_the_hull():
    # A strake that drops before the fore hood end: four there, five at dead flat.
    found = next_widths([StationGap("FH", Fraction("10.05"), 4), StationGap("DF", Fraction("22.5"), 5)])

    assert [len(station.widths_mm) for station in found.stations] == [4, 5]
    assert [station.next_mm for station in found.stations] == [Fraction("2.5125"), Fraction("4.5")]
    assert found.full_width_mm == Fraction("4.5")


def test_gap_short_of_the_planned_widths():
    # Five of 4.50 make 22.50 against 22.16: 0.34 short.
    found = next_widths([at_m("22.16", given_widths_mm=(Fraction("4.5"),) * 5)]).stations[0]

    assert found.over_mm == Fraction("-0.34")
    assert found.over_sum == "5 × 4.50 = 22.50, gap 22.16, 0.34 short"


def test_gap_over_the_planned_widths_and_their_seams():
    # 3 + 4 + 5 and four seams of 0.03 make 12.12; the gap is 12.50.
    widths = (Fraction(3), Fraction(4), Fraction(5))
    found = next_widths([at_m("12.5", 3, given_widths_mm=widths)], seam_mm=Fraction("0.03")).stations[0]

    assert found.over_mm == Fraction("0.38")
    assert found.over_sum == "3.00 + 4.00 + 5.00 + seams 0.12 = 12.12, gap 12.50, 0.38 over"


def test_gap_that_fits_the_planned_widths_says_so():
    found = next_widths([at_m("12", 3, given_widths_mm=(3, 4, 5))]).stations[0]

    assert (found.over_mm, found.over_sum) == (0, "3.00 + 4.00 + 5.00 = 12.00, gap 12.00, as it should be")


@pytest.mark.parametrize(
    ("widths", "words"),
    [
        ((5,), "5.00 = 5.00, gap 5.00, as it should be"),
        ((5, 5), "2 × 5.00 = 10.00, gap 10.00, as it should be"),
        (
            (1, 2, 3, 4, 5, 6, 7, 8),
            "1.00 + 2.00 + 3.00 + 4.00 + 5.00 + 6.00 + 7.00 + 8.00 = 36.00, gap 36.00, as it should be",
        ),
    ],
    ids=["one", "two alike", "eight"],
)
def test_given_widths_are_told_one_by_one_or_counted(widths, words):
    found = next_widths([at_m(sum(widths), len(widths), given_widths_mm=widths)]).stations[0]

    assert found.over_sum == words


def test_many_different_widths_are_told_by_their_sum():
    widths = tuple(Fraction(number) for number in range(1, 10))

    found = next_widths([at_m("45", 9, given_widths_mm=widths)]).stations[0]

    assert found.over_sum == "9 widths = 45.00, gap 45.00, as it should be"


def test_shares_divide_the_room_in_proportion():
    # 21 in the proportion 5/4 : 1 : 1 : 1 is 21 / 4.25 a whole share.
    shares = (Fraction(5, 4), Fraction(1), Fraction(1), Fraction(1))
    found = next_widths([at_m("21", 4, shares=shares)]).stations[0]

    assert found.widths_mm == (Fraction(105, 17), Fraction(84, 17), Fraction(84, 17), Fraction(84, 17))
    assert found.sum == "21.00 × 1.25 / 4.25 = 6.18"


def test_width_wider_than_the_stock_warns_with_the_counts_that_would_do():
    # 22 / 3 = 7.33; stock of 6 needs 4, and half of 7.33 is 3.67, so 5 still do (4.40), 6 leave 3.67 exactly.
    found = next_widths([at_m("22", 3)], limits=WidthLimits(stock_width_mm=6))

    assert [warning.sentence for warning in found.warnings] == [
        "At M 7.33 is wider than the stock, 6.00; 4 to 6 strakes would do."
    ]
    assert found.warnings[0].rule == "wider than the stock"


def test_width_under_half_the_widest_warns():
    # The trade's rule: 19 in among five at the fore hood end is 3.8 in, against 9 in amidships.
    found = next_widths([StationGap("FH", 19, 5), StationGap("DF", 45, 5)])

    assert [warning.sentence for warning in found.warnings] == [
        "At FH 3.80 is under 4.50, half the widest, 9.00; 2 to 4 strakes would do."
    ]


def test_width_over_one_and_a_half_times_the_full_width_warns():
    found = next_widths([StationGap("AH", 40, 5)], limits=WidthLimits(full_width_mm=5))

    assert [(warning.rule, warning.sentence) for warning in found.warnings] == [
        (
            "over the widest share",
            "At AH 8.00 is over 7.50, one and a half times the full width 5.00; 6 to 16 strakes would do.",
        )
    ]


@pytest.mark.parametrize("width", ["2.5", "7.5"], ids=["half exactly", "one and a half exactly"])
def test_width_at_the_limit_is_still_within_it(width):
    found = next_widths([at_m(Fraction(width) * 4, 4)], limits=WidthLimits(full_width_mm=5))

    assert found.warnings == ()


@pytest.mark.parametrize(
    ("width", "shown"), [("2.4999", "At M 2.4999 is under 2.5000"), ("7.501", "At M 7.501 is over 7.500")]
)
def test_width_just_past_the_limit_is_told_apart_from_it(width, shown):
    found = next_widths([at_m(Fraction(width) * 4, 4)], limits=WidthLimits(full_width_mm=5))

    assert found.warnings[0].sentence.startswith(shown)


def test_warning_says_when_no_count_would_do():
    # Widths from 4.9 to 5.1 only: a gap of 7 takes one of 7 or two of 3.5.
    limits = WidthLimits(full_width_mm=5, narrowest_share=Fraction("0.98"), widest_share=Fraction("1.02"))

    found = next_widths([at_m("7", 1)], limits=limits)

    assert found.warnings[0].sentence == (
        "At M 7.00 is over 5.10, 1.02 times the full width 5.00; no number of strakes would do."
    )


def test_sixty_stations_are_answered_in_their_order():
    stations = [StationGap(str(number), 20 + number, 4 + number % 3) for number in range(60)]

    found = next_widths(stations, seam_mm=Fraction("0.03"))

    assert [station.name for station in found.stations] == [str(number) for number in range(60)]
    assert all(sum(station.widths_mm) + station.seams_mm == station.gap_mm for station in found.stations)


@pytest.mark.parametrize(
    ("stations", "more", "field", "words"),
    [
        ([], {}, "stations", "must|there must be at least one"),
        ([at_m(1), at_m(2)], {}, "stations", "M is given twice"),
        ([at_m(0)], {}, "gap at M", "must be more than nothing"),
        ([at_m(-3)], {}, "gap at M", "must be more than nothing"),
        ([StationGap("M", float("nan"), 5)], {}, "gap at M", "is not a finite number"),
        ([StationGap("M", "22", 5)], {}, "gap at M", "is not a number"),
        ([at_m("0.18", 5)], {"seam_mm": Fraction("0.03")}, "gap at M", "its seams alone take 0.18"),
        ([at_m(22, 0)], {}, "strakes left at M", "whole number from 1"),
        ([at_m(22, 501)], {}, "strakes left at M", "whole number from 1"),
        ([at_m(22, 2.5)], {}, "strakes left at M", "whole number from 1"),
        ([at_m(22, True)], {}, "strakes left at M", "whole number from 1"),
        ([at_m(22, 5)], {"seam_mm": -1}, "seam_mm", "cannot be below zero"),
        ([at_m(22, 2, shares=(1,))], {}, "shares at M", "must be 2, one for each strake left; 1 are given"),
        ([at_m(22, 2, shares=(1, 0))], {}, "shares at M", "must all be more than nothing"),
        ([at_m(22, 2, given_widths_mm=(1, 2, 3))], {}, "given widths at M", "must be 2"),
        ([at_m(22, 2, given_widths_mm=(1, -2))], {}, "given widths at M", "must all be more than nothing"),
    ],
)
def test_input_out_of_reason_is_refused_by_name(stations, more, field, words):
    with pytest.raises(PlankingError, match=words) as refused:
        next_widths(stations, **more)

    assert refused.value.field == field


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"full_width_mm": 0}, "full_width_mm"),
        ({"stock_width_mm": -1}, "stock_width_mm"),
        ({"narrowest_share": 0}, "narrowest_share"),
        ({"narrowest_share": Fraction(11, 10)}, "narrowest_share"),
        ({"widest_share": Fraction(9, 10)}, "widest_share"),
        ({"widest_share": float("inf")}, "widest_share"),
    ],
)
def test_limits_out_of_reason_are_refused_by_name(given, field):
    with pytest.raises(PlankingError) as refused:
        WidthLimits(**given)

    assert refused.value.field == field


gaps = st.fractions(min_value=5, max_value=200, max_denominator=1000)
counts = st.integers(1, 30)
seams = st.fractions(min_value=0, max_value=Fraction(1, 10), max_denominator=1000)


@given(gap=gaps, left=counts, seam=seams, tight=st.booleans())
def test_widths_and_seams_fill_the_gap_exactly(gap, left, seam, tight):
    found = next_widths([at_m(gap, left)], seam_mm=seam, both_edges_tight=tight).stations[0]

    assert sum(found.widths_mm) + (left + tight) * seam == gap
    assert abs(sum(found.shown_mm) - sum(found.widths_mm)) <= Fraction(1, 200)


@given(gap=gaps, left=counts, off=st.fractions(-1, 1, max_denominator=1000))
def test_gap_is_over_by_what_the_given_widths_lack(gap, left, off):
    even = next_widths([at_m(gap, left)]).stations[0].widths_mm
    given_widths = (even[0] + off, *even[1:])

    if given_widths[0] <= 0:
        return
    found = next_widths([at_m(gap, left, given_widths_mm=given_widths)]).stations[0]
    assert found.over_mm == -off


@given(gap=gaps, left=counts, factor=st.sampled_from([2, 3, 10]))
def test_gap_and_seam_twice_as_large_make_widths_twice_as_large(gap, left, factor):
    once = next_widths([at_m(gap, left)], seam_mm=Fraction("0.03")).stations[0]
    more = next_widths([at_m(gap * factor, left)], seam_mm=Fraction("0.03") * factor).stations[0]

    assert more.next_mm == once.next_mm * factor


@given(gap=gaps, left=counts, share=st.fractions(Fraction(1, 10), 10))
def test_equal_shares_of_any_size_are_equal_division(gap, left, share):
    by_shares = next_widths([at_m(gap, left, shares=(share,) * left)]).stations[0]

    assert by_shares.widths_mm == next_widths([at_m(gap, left)]).stations[0].widths_mm


@given(gap=gaps, left=counts, seam=seams)
def test_warned_count_would_not_warn(gap, left, seam):
    limits = WidthLimits(full_width_mm=5)
    found = next_widths([at_m(gap, left)], seam_mm=seam, limits=limits)

    for warning in found.warnings:
        for count in {warning.counts.fewest, warning.counts.most}:
            if not warning.counts.is_empty and count <= 500:
                assert next_widths([at_m(gap, count)], seam_mm=seam, limits=limits).warnings == ()
        assert not warning.counts.fewest <= left <= warning.counts.most
