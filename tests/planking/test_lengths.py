"""Reading with a notation, showing back, and the nanometres that records keep."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planking.lengths import (
    FOOT_MM,
    FULL_SIZE,
    INCH_MM,
    Length,
    PlankingError,
    Scale,
    from_nm,
    nm_remainder,
    read_implied_point,
    read_length,
    show_decimal_inch,
    show_full_size,
    show_mm,
    to_nm,
)

QUARTER = Scale(1, 48)
SIXTEENTH = Fraction(1, 16)


def test_inch_is_254_tenths_of_a_mm():
    # Agreement of 1959, addendum of 22 January 1960 to NBS Circular 572: 1 yd = 0.9144 m exactly.
    assert from_nm(914_400_000) == 36 * INCH_MM
    assert to_nm(INCH_MM) == 25_400_000


def test_foot_at_one_to_forty_eight_is_635_hundredths_of_a_mm():
    read = read_length("1 ft", field="length", size="full", scale=QUARTER)

    assert read.mm == Fraction("6.35")


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("1/64 in", "0.396875"),
        ("1/32 in", "0.79375"),
        ("1/16 in", "1.5875"),
        ("1/8 in", "3.175"),
        ("3/32 in", "2.38125"),
    ],
)
def test_fractions_of_an_inch_in_mm(text, mm):
    # Plain arithmetic from 25.4: each has a finite decimal.
    assert read_length(text, field="length").mm == Fraction(mm)


@pytest.mark.parametrize(
    ("inches", "mm"), [("3 in", "1.5875"), ("2.5 in", "635/480"), ("2 in", "508/480"), ("9 in", "4.7625")]
)
def test_full_size_plank_at_one_to_forty_eight(inches, mm):
    read = read_length(inches, field="thickness", size="full", scale=QUARTER)

    assert read.mm == Fraction(mm)


def test_hull_of_seventy_eight_feet_is_4953_tenths_of_a_mm_at_one_to_forty_eight():
    read = read_length("78 ft 0 in", field="length", size="full", scale=QUARTER)

    assert read == Length(Fraction("495.3"), "78 ft 0 in", "ft", "full", True)


def test_length_remembers_whether_the_unit_was_written():
    assert read_length("4.76", field="width").unit_written is False
    assert read_length("4.76 mm", field="width").unit_written is True


def test_length_at_full_size_without_a_scale_says_so():
    with pytest.raises(
        PlankingError, match="Girth at M is at full size, so the scale of the model is needed"
    ):
        read_length("9 in", field="girth at M", size="full")


def test_length_may_be_below_zero_where_it_is_asked_for():
    assert read_length("-0.10", field="difference", allow_negative=True).mm == Fraction(-1, 10)
    assert read_length("−3 1/4 in", field="difference", allow_negative=True).mm == Fraction("-82.55")


def test_nothing_is_refused_where_a_width_is_wanted():
    with pytest.raises(PlankingError, match="Width must be more than nothing"):
        read_length("0", field="width", allow_zero=False)


def test_unknown_unit_of_the_box_is_refused():
    with pytest.raises(PlankingError, match="not a unit known here"):
        read_length("4", field="width", unit="furlong")


def test_text_that_is_no_text_is_refused():
    with pytest.raises(PlankingError, match="is not text"):
        read_length(4.76, field="width")


@pytest.mark.parametrize(
    ("text", "inches"),
    [("1-07-4", "39/2"), ("0-00-0", "0"), ("9-11-7", "959/8"), ("1-07-4+", "313/16"), ("12-3-0", "147")],
)
def test_feet_inches_eighths_is_read_when_asked_for(text, inches):
    # 1-07-4 is 19.5 in = 495.3 mm (the notation of drawn tables of offsets; the plus sign from memory).
    read = read_length(text, field="half-breadth", notation="feet-inches-eighths")

    assert read.mm == Fraction(inches) * INCH_MM


@pytest.mark.parametrize(
    "text", ["1-44", "1-07-8", "1-12-4", "1-07", "0-102", "1-07-4.5", "1 07 4", "-1-07-4", "4.76"]
)
def test_feet_inches_eighths_needs_all_three_parts(text):
    with pytest.raises(PlankingError):
        read_length(text, field="half-breadth", notation="feet-inches-eighths")


@pytest.mark.parametrize(
    ("text", "places", "unit", "mm"),
    [
        ("476", 2, "mm", "4.76"),
        ("0476", 2, "mm", "4.76"),
        ("1005", 2, "mm", "10.05"),
        ("048", 2, "mm", "0.48"),
        ("0188", 3, "in", "4.7752"),
        ("9", 0, "mm", "9"),
        ("4.76", 2, "mm", "4.76"),
        ("4,76", 2, "mm", "4.76"),
        ("9 0/8", 3, "in", "228.6"),
        ("3/16", 3, "in", "4.7625"),
        ("9 in", 2, "mm", "228.6"),
    ],
)
def test_figures_without_a_point_take_the_places_of_the_caliper(text, places, unit, mm):
    read = read_implied_point(text, field="width at M", places=places, unit=unit)

    assert read.mm == Fraction(mm)
    assert read.typed == text


@pytest.mark.parametrize(
    ("text", "places"), [("9", 2), ("47", 2), ("188", 3), ("", 2), ("٤٧٦", 2), ("-476", 2)]
)
def test_too_few_figures_without_a_point_are_refused(text, places):
    with pytest.raises(PlankingError) as refused:
        read_implied_point(text, field="width at M", places=places)

    assert refused.value.field == "width at M"


def test_width_of_a_plank_is_kept_in_whole_nanometres_with_the_remainder_told():
    third = Fraction(10, 3)

    assert to_nm(third) == 3_333_333
    assert nm_remainder(third) == Fraction(1, 3_000_000)


@pytest.mark.parametrize(
    ("mm", "nm"), [("0.0000005", 0), ("0.0000015", 2), ("0.0000025", 2), ("-0.0000015", -2)]
)
def test_half_a_nanometre_goes_to_the_even_one(mm, nm):
    # Ties to even: NIST SP 811 B.7.1 (from memory).
    assert to_nm(Fraction(mm)) == nm


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_nan_and_infinity_have_no_nanometres(value):
    with pytest.raises(PlankingError, match="is not a finite number"):
        to_nm(value)


@pytest.mark.parametrize(
    ("value", "places", "shown"),
    [
        (Fraction("4.7625"), 2, "4.76"),
        (Fraction("4.765"), 2, "4.76"),
        (Fraction("4.775"), 2, "4.78"),
        (Fraction("-0.45"), 2, "−0.45"),
        (Fraction("-0.004"), 2, "0.00"),
        (Fraction("0.05"), 2, "0.05"),
        (Fraction("9.999"), 2, "10.00"),
        (Fraction("82.5"), 0, "82"),
        (4.76, 3, "4.760"),
        (12, 1, "12.0"),
    ],
)
def test_length_shown_in_mm(value, places, shown):
    assert show_mm(value, places) == shown


def test_length_shown_in_decimal_inches():
    assert show_decimal_inch(Fraction("4.7625"), 4) == "0.1875"
    assert show_decimal_inch(Fraction("4.7625")) == "0.188"


@pytest.mark.parametrize(
    ("inches", "step", "feet", "text", "spoken"),
    [
        ("133/16", SIXTEENTH, False, "8 5/16 in", "8 and 5 sixteenths"),
        ("9", SIXTEENTH, False, "9 in", "9"),
        ("17/2", SIXTEENTH, False, "8 1/2 in", "8 and 1 half"),
        ("113/16", SIXTEENTH, False, "7 1/16 in", "7 and 1 sixteenth"),
        ("3/4", SIXTEENTH, False, "3/4 in", "3 quarters"),
        ("0", SIXTEENTH, False, "0 in", "0"),
        ("5/8", SIXTEENTH, False, "5/8 in", "5 eighths"),
        ("1/32", Fraction(1, 32), False, "1/32 in", "1 thirty-second"),
        ("13/64", Fraction(1, 64), False, "13/64 in", "13 sixty-fourths"),
        ("1/3", Fraction(1, 3), False, "1/3 in", "1 third"),
        ("225/2", SIXTEENTH, True, "9 ft 4 1/2 in", "9 feet 4 and 1 half"),
        ("12", SIXTEENTH, True, "1 ft 0 in", "1 foot 0"),
        ("25/2", SIXTEENTH, True, "1 ft 1/2 in", "1 foot 1 half"),
        ("936", SIXTEENTH, True, "78 ft 0 in", "78 feet 0"),
        ("-1/2", SIXTEENTH, False, "−1/2 in", "minus 1 half"),
    ],
)
def test_length_shown_at_full_size(inches, step, feet, text, spoken):
    shown = show_full_size(Fraction(inches) * INCH_MM / 48, QUARTER, step, feet=feet)

    assert (shown.text, shown.spoken, shown.is_exact) == (text, spoken, True)


def test_five_mm_is_thirteen_sixty_fourths_and_a_little_less():
    # 5.0 / 0.396875 = 12.598, so the nearest is 13/64 = 5.159375; plain arithmetic.
    shown = show_full_size(Fraction(5), FULL_SIZE, Fraction(1, 64))

    assert (shown.whole, shown.numerator, shown.denominator) == (0, 13, 64)
    assert shown.remainder_mm == Fraction("-0.159375")
    assert shown.marked == "roughly 13/64 in"


def test_steps_of_an_eighth_a_sixteenth_and_a_sixty_fourth_leave_their_remainders():
    # 100/3 mm is 1.31233.. in: 1 2/8, 1 5/16, 1 20/64.
    third = Fraction(100, 3)

    shown = [show_full_size(third, FULL_SIZE, Fraction(1, parts)) for parts in (8, 16, 64)]

    assert [one.text for one in shown] == ["1 1/4 in", "1 5/16 in", "1 5/16 in"]
    assert [one.remainder_mm for one in shown] == [
        third - Fraction("31.75"),
        third - Fraction("33.3375"),
        third - Fraction("33.3375"),
    ]


def test_inches_are_shown_to_the_sixteenth_where_no_step_is_asked_for():
    # 8 3/8 in and a hair: 8 6/16.
    assert show_full_size(Fraction("8.38") * INCH_MM, FULL_SIZE).text == "8 3/8 in"


@pytest.mark.parametrize(("noughts", "is_read"), [(36, True), (37, False)])
def test_forty_signs_are_read_and_one_more_is_not(noughts, is_read):
    answer = read_or_refused("4.76" + "0" * noughts)

    assert isinstance(answer, Length) is is_read


def test_steps_must_be_more_than_nothing():
    with pytest.raises(PlankingError, match="Step must be more than nothing"):
        show_full_size(Fraction(5), QUARTER, Fraction(0))


lengths = st.fractions(min_value=0, max_value=1000, max_denominator=10**6)
steps = st.sampled_from([Fraction(1, parts) for parts in (1, 2, 4, 8, 16, 32, 64)])
scales = st.sampled_from([Scale(1, ratio) for ratio in (1, 16, 24, 32, 48, 50, 64, 72, 96, 192)])


@given(value=lengths, scale=scales, step=steps, feet=st.booleans())
def test_shown_fraction_and_its_remainder_give_the_length_again(value, scale, step, feet):
    shown = show_full_size(value, scale, step, feet=feet)

    inches = 12 * shown.feet + shown.whole + Fraction(shown.numerator, shown.denominator)
    assert scale.to_model_mm(inches * INCH_MM) + shown.remainder_mm == value
    assert abs(shown.remainder_mm) <= scale.to_model_mm(step * INCH_MM) / 2
    assert shown.numerator < shown.denominator
    assert not feet or shown.whole < 12


@given(value=lengths, scale=scales, step=steps, feet=st.booleans())
def test_shown_fraction_is_read_back_as_it_was_shown(value, scale, step, feet):
    shown = show_full_size(value, scale, step, feet=feet)

    read = read_length(shown.text, field="length", size="full", scale=scale)

    assert read.mm + shown.remainder_mm == value


@given(inches=st.fractions(min_value=0, max_value=1000, max_denominator=64))
def test_inch_to_mm_to_inch_is_the_same_inch(inches):
    whole, part = divmod(inches.numerator, inches.denominator)

    read = read_length(f"{whole} {part}/{inches.denominator} in", field="length")

    assert read.mm / INCH_MM == inches


@given(hundredths=st.integers(0, 99_999), comma=st.booleans(), unit=st.sampled_from(["", " mm", "mm"]))
def test_two_places_are_read_as_typed_with_point_or_comma(hundredths, comma, unit):
    text = f"{hundredths // 100}{',' if comma else '.'}{hundredths % 100:02d}{unit}"

    assert read_length(text, field="width").mm == Fraction(hundredths, 100)


@given(feet=st.integers(1, 200), sixteenths=st.integers(0, 191))
def test_feet_and_inches_add_up(feet, sixteenths):
    text = f"{feet}' {sixteenths // 16} {sixteenths % 16}/16\""

    assert read_length(text, field="length").mm == feet * FOOT_MM + Fraction(sixteenths, 16) * INCH_MM


@given(nm=st.integers(-(10**12), 10**12))
def test_nanometres_come_back_whole(nm):
    assert to_nm(from_nm(nm)) == nm
    assert nm_remainder(from_nm(nm)) == 0


@given(value=st.fractions(min_value=-1000, max_value=1000))
def test_rounding_to_nanometres_leaves_half_a_nanometre_at_most(value):
    assert abs(nm_remainder(value)) <= Fraction(1, 2_000_000)
    assert from_nm(to_nm(value)) + nm_remainder(value) == value


@given(value=st.fractions(min_value=-1000, max_value=1000), places=st.integers(0, 6))
def test_shown_mm_is_within_half_of_its_last_place(value, places):
    shown = Fraction(show_mm(value, places).replace("−", "-"))

    assert abs(shown - value) <= Fraction(1, 2 * 10**places)


def read_or_refused(text: str, unit: str = "mm") -> Length | PlankingError:
    try:
        return read_length(text, field="width", unit=unit)
    except PlankingError as refused:
        return refused


@given(text=st.text(max_size=60))
def test_any_text_is_read_or_refused_by_name(text):
    answer = read_or_refused(text)

    if isinstance(answer, PlankingError):
        assert answer.field == "width"
    else:
        assert answer.mm >= 0
        assert any(sign in "0123456789½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒" for sign in text)


@given(text=st.text(alphabet="0123456789.,/-+'\" inftm½e_", max_size=14), unit=st.sampled_from(["mm", "in"]))
def test_text_of_likely_signs_is_read_or_refused_and_never_below_zero(text, unit):
    answer = read_or_refused(text, unit)

    if isinstance(answer, PlankingError):
        assert answer.field == "width"
    else:
        assert answer.mm >= 0
        assert "e" not in text.replace("feet", "")
        assert "_" not in text
