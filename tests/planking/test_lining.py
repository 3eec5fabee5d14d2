"""Counts within limits, and the division of an opening."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planking.errors import PlankingError
from planking.lengths import Scale, round_run, to_nm
from planking.limits import WidthLimits, counts_that_fit
from planking.lining import (
    LinedStation,
    count_changes,
    divide_opening,
    judge_count,
    sum_at_full_size,
)

FIVE = WidthLimits(full_width_mm=5)
QUARTER = Scale(1, 48)


def inches(figure: str) -> Fraction:
    """Full-size inches on a model at 1:48."""
    return Fraction(figure) * Fraction("25.4") / 48


def test_twenty_strakes_are_too_narrow_for_a_bow_of_46_mm():
    # Never under half the full width (common practice, no source): 46 / 20 = 2.30 < 2.50; 46 / 2.5 = 18.4.
    found = judge_count("the stem", 46, 20, FIVE)

    assert (found.verdict, found.width_mm, found.counts.most, found.drop_strakes) == (
        "too narrow",
        Fraction("2.3"),
        18,
        2,
    )
    assert found.sentence == (
        "At the stem 46.00 / 20 = 2.30, under 2.50: too narrow. At most 18 may reach it, so 2 drop."
    )


def test_twenty_strakes_are_too_wide_for_a_stern_of_160_mm():
    # Not over one and a half (common practice, no source): 160 / 20 = 8 > 7.5; 160 / 7.5 = 21.3.
    found = judge_count("the stern", 160, 20, FIVE)

    assert (found.verdict, found.width_mm, found.counts.fewest, found.stealers) == ("too wide", 8, 22, 2)
    assert found.sentence == (
        "At the stern 160.00 / 20 = 8.00, over 7.50: too wide. "
        "At least 22 are needed, so 2 stealers must come in."
    )


@pytest.mark.parametrize(("girth", "strakes"), [("50", 20), ("150", 20), ("100", 20)])
def test_width_at_or_within_the_limits_fits(girth, strakes):
    found = judge_count("DF", Fraction(girth), strakes, FIVE)

    assert (found.verdict, found.drop_strakes, found.stealers) == ("fits", 0, 0)
    assert found.sentence.endswith("within the limits.")


def test_one_strake_drops_and_one_stealer_comes_in_by_number():
    assert judge_count("FH", 48, 20, FIVE).sentence.endswith("so 1 drops.")
    assert judge_count("AH", 155, 20, FIVE).sentence.endswith("so 1 stealer must come in.")


def test_stock_narrower_than_the_widest_share_sets_the_limit():
    limits = WidthLimits(full_width_mm=5, stock_width_mm=6)

    found = judge_count("AH", 130, 20, limits)

    # 130 / 20 = 6.50 > 6; ceil(130 / 6) = 22.
    assert (found.verdict, found.stealers) == ("too wide", 2)


def test_girth_that_no_count_fills_says_so():
    limits = WidthLimits(full_width_mm=5, narrowest_share=Fraction("0.98"), widest_share=Fraction("1.02"))

    found = judge_count("FH", 7, 2, limits)

    assert (found.verdict, found.drop_strakes) == ("too narrow", 0)
    assert found.sentence.endswith("No number of strakes keeps within the limits.")


def test_seams_take_their_room_before_the_count():
    # 46 less 21 seams of 0.1 is 43.9; 43.9 / 20 = 2.195. n (2.5 + 0.1) <= 46 - 0.1 gives 17.
    found = judge_count("FH", 46, 20, FIVE, seam_mm=Fraction("0.1"))

    assert (found.width_mm, found.counts.most, found.drop_strakes) == (Fraction("2.195"), 17, 3)


@given(
    girth=st.fractions(5, 300, max_denominator=100),
    seam=st.fractions(0, Fraction(1, 10), max_denominator=100),
    tight=st.booleans(),
)
def test_counts_that_fit_are_those_found_by_trying_each(girth, seam, tight):
    def fits(count: int) -> bool:
        width = (girth - (count + tight) * seam) / count
        return Fraction("2.5") <= width <= Fraction("7.5")

    tried = [count for count in range(1, 130) if fits(count)]

    found = counts_that_fit(girth, FIVE, seam_mm=seam, both_edges_tight=tight)

    assert list(range(found.fewest, found.most + 1)) == tried


def test_counts_with_seams_by_hand():
    # 20 strakes of 7.50 and 21 seams of 0.1 are 152.1; 20 of 2.50 and 21 seams are 52.1.
    assert counts_that_fit(Fraction("152.1"), FIVE, seam_mm=Fraction("0.1")).fewest == 20
    assert counts_that_fit(Fraction("52.1"), FIVE, seam_mm=Fraction("0.1")).most == 20
    assert (
        counts_that_fit(Fraction("152.0"), FIVE, seam_mm=Fraction("0.1"), both_edges_tight=False).fewest == 20
    )
    assert counts_that_fit(Fraction("0.1"), FIVE).fewest == 1


def test_counts_need_the_full_width():
    with pytest.raises(PlankingError, match="is needed for the limits"):
        counts_that_fit(46, WidthLimits())


@pytest.mark.parametrize(
    ("girth", "strakes", "seam", "field"),
    [
        (0, 20, 0, "girth at FH"),
        (46, 0, 0, "strakes at FH"),
        (46, 2.5, 0, "strakes at FH"),
        (1, 20, 1, "girth at FH"),
    ],
)
def test_count_out_of_reason_is_refused_by_name(girth, strakes, seam, field):
    with pytest.raises(PlankingError) as refused:
        judge_count("FH", girth, strakes, FIVE, seam_mm=seam)

    assert refused.value.field == field


def test_garboard_first_then_three_strakes_of_nine_inches():
    # The trade's division (common practice, no source): 38 1/2 less a garboard of 11 1/2 is 27; 27 / 3 = 9.
    lined = LinedStation("DF", inches("38.5"), ("1", "2", "3", "4"), {"1": inches("11.5")})

    found = divide_opening([lined])[0]

    assert found.widths_nm["1"] == to_nm(inches("11.5"))
    assert {found.widths_nm[label] for label in "234"} <= {4_762_500, 4_762_499, 4_762_501}
    assert sum(found.widths_nm.values()) == to_nm(inches("38.5"))
    assert sum_at_full_size(found, QUARTER) == "38 1/2 − 11 1/2 = 27; 27 / 3 = 9"


@pytest.mark.parametrize(("strakes", "words"), [(5, "20 / 5 = 4"), (6, "20 / 6 = roughly 3 1/4")])
def test_twenty_inches_by_five_and_by_six(strakes, words):
    # The trade's equal division (common practice, no source): 3 1/3 is not on a rule of quarters.
    lined = LinedStation("DF", inches("20"), tuple(str(number) for number in range(strakes)))

    assert sum_at_full_size(divide_opening([lined])[0], QUARTER, Fraction(1, 4)) == words


def test_six_in_twenty_inches_is_three_and_a_third_exactly_before_it_is_shown():
    lined = LinedStation("DF", Fraction(20), tuple("123456"))

    found = divide_opening([lined])[0]

    assert sum(found.widths_nm.values()) == 20_000_000
    assert set(found.widths_nm.values()) == {3_333_333, 3_333_334}


def test_parts_to_a_tenth_still_add_up():
    # 22.16 among five, to 0.1 mm: marks 4.4, 8.9, 13.3, 17.7, 22.2.
    run = round_run([Fraction("22.16") / 5] * 5, Fraction("0.1"))

    assert sum(run.widths_mm) == Fraction("22.2")


def test_dropped_strake_leaves_its_room_to_the_rest():
    hull = [
        LinedStation("FH", Fraction("10.05"), ("1", "2", "3", "4")),
        LinedStation("DF", Fraction("22.5"), ("1", "2", "3", "4", "5")),
    ]

    fore, flat = divide_opening(hull)

    assert "5" not in fore.widths_nm
    assert sum(fore.widths_nm.values()) == 10_050_000
    assert set(flat.widths_nm.values()) == {4_500_000}
    assert fore.sum == "10.05 / 4 = 2.51"


def test_seams_and_given_widths_stand_in_the_sum():
    lined = LinedStation("M", Fraction("20"), ("1", "2", "3"), {"1": Fraction(6)})

    found = divide_opening([lined], seam_mm=Fraction("0.05"))[0]

    assert (found.seams_nm, found.given_nm) == (200_000, 6_000_000)
    assert found.sum == "20.00 − seams 0.20 − given 6.00 = 13.80; 13.80 / 2 = 6.90"
    assert found.width_mm("2") == Fraction("6.9")


def test_open_edge_takes_no_seam():
    found = divide_opening(
        [LinedStation("M", 20, ("1", "2"))], seam_mm=Fraction("0.05"), both_edges_tight=False
    )[0]

    assert found.seams_nm == 100_000


def test_shares_belong_to_strakes():
    lined = LinedStation("M", 21, ("1", "2", "3", "4"))

    found = divide_opening([lined], shares={"1": Fraction(3, 2), "9": 2})[0]

    assert found.widths_nm == {"1": 7_000_000, "2": 4_666_667, "3": 4_666_666, "4": 4_666_667}
    assert found.sum == "21.00 by shares: 7.00, 4.67, 4.67, 4.67"


def test_all_widths_given_that_fill_the_girth_need_no_division():
    lined = LinedStation("M", 9, ("1", "2"), {"1": 4, "2": 5})

    found = divide_opening([lined])[0]

    assert (found.widths_nm, found.divided_among, found.sum) == (
        {"1": 4_000_000, "2": 5_000_000},
        0,
        "9.00 − given 9.00 = 0.00",
    )
    with pytest.raises(PlankingError, match="all have given widths"):
        sum_at_full_size(found, QUARTER)


@pytest.mark.parametrize(
    ("station", "more", "field"),
    [
        (LinedStation("M", 20, ()), {}, "strakes at M"),
        (LinedStation("M", 20, ("1", "1")), {}, "strakes at M"),
        (LinedStation("M", 20, ("1",), {"2": 5}), {}, "given widths at M"),
        (LinedStation("M", 20, ("1", "2"), {"1": 0}), {}, "given width of strake 1 at M"),
        (LinedStation("M", 20, ("1", "2"), {"1": 20}), {}, "girth at M"),
        (LinedStation("M", 20, ("1",), {"1": 19}), {}, "girth at M"),
        (LinedStation("M", 0, ("1",)), {}, "girth at M"),
        (LinedStation("M", float("inf"), ("1",)), {}, "girth at M"),
        (LinedStation("M", 1, ("1", "2")), {"seam_mm": 1}, "girth at M"),
        (LinedStation("M", 20, ("1", "2")), {"seam_mm": -1}, "seam_mm"),
        (LinedStation("M", 20, ("1", "2")), {"shares": {"1": 0}}, "shares"),
        (LinedStation("M", 20, ("1", "2")), {"shares": {"1": float("nan")}}, "share of strake 1"),
    ],
)
def test_division_out_of_reason_is_refused_by_name(station, more, field):
    with pytest.raises(PlankingError) as refused:
        divide_opening([station], **more)

    assert refused.value.field == field


@pytest.mark.parametrize(
    ("seam", "taken"),
    [("0", "against 20.00 of given widths; nothing"), ("0.05", "widths and 0.15 of seams; nothing")],
)
def test_nothing_left_to_divide_says_what_took_it(seam, taken):
    with pytest.raises(PlankingError, match=taken):
        divide_opening([LinedStation("M", 20, ("1", "2"), {"1": 20})], seam_mm=Fraction(seam))


def test_no_stations_are_refused():
    with pytest.raises(PlankingError):
        divide_opening([])


def test_changes_of_count_are_told_from_the_widest_station_outwards():
    hull = [
        LinedStation("FH", 10, ("1", "2", "3")),
        LinedStation("M", 19, ("1", "2", "3", "4")),
        LinedStation("DF", 22, ("1", "2", "3", "4", "5")),
        LinedStation("16", 20, ("1", "2", "3", "3a", "4", "5")),
        LinedStation("AH", 21, ("1", "2", "3", "3a", "4")),
    ]

    assert [(one.strake, one.kind, one.nearer, one.farther) for one in count_changes(hull)] == [
        ("5", "drop strake", "DF", "M"),
        ("4", "drop strake", "M", "FH"),
        ("3a", "stealer", "DF", "16"),
        ("5", "drop strake", "16", "AH"),
    ]
    assert count_changes([]) == ()


@given(
    girth=st.fractions(60, 200, max_denominator=10**7),
    strakes=st.integers(2, 30),
    seam=st.fractions(0, Fraction(1, 10), max_denominator=10**7),
    garboard=st.none() | st.fractions(1, 20, max_denominator=10**7),
    shares=st.dictionaries(st.integers(1, 30).map(str), st.fractions(Fraction(1, 2), 2, max_denominator=20)),
)
def test_widths_seams_and_given_add_up_to_the_girth_to_the_nanometre(girth, strakes, seam, garboard, shares):
    labels = tuple(str(number) for number in range(1, strakes + 1))
    given_mm = {} if garboard is None else {"1": garboard}

    found = divide_opening([LinedStation("M", girth, labels, given_mm)], shares=shares, seam_mm=seam)[0]

    assert sum(found.widths_nm.values()) + found.seams_nm == to_nm(girth)
    assert tuple(found.widths_nm) == labels
    free = [label for label in labels if label not in given_mm]
    whole = sum(shares.get(label, Fraction(1)) for label in free)
    rest = found.girth_nm - found.seams_nm - found.given_nm
    assert all(abs(found.widths_nm[s] - rest * shares.get(s, Fraction(1)) / whole) <= 1 for s in free)
