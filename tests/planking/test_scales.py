"""Scales as a ratio and as inches to the foot."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planking.lengths import PlankingError, Scale, read_scale, scale_of_inches_to_the_foot, scale_of_ratio

# The trade's own table of scales (common practice, no source): ratio = 12 / fraction.
TABLE = [
    (12, "1"),
    (16, "3/4"),
    (24, "1/2"),
    (32, "3/8"),
    (48, "1/4"),
    (64, "3/16"),
    (96, "1/8"),
    (192, "1/16"),
    (384, "1/32"),
]


@pytest.mark.parametrize(("ratio", "inches"), TABLE)
def test_scale_table_of_the_trade(ratio, inches):
    scale = scale_of_inches_to_the_foot(Fraction(inches))

    assert scale == Scale(1, ratio)
    assert scale.inches_to_the_foot == Fraction(inches)


@pytest.mark.parametrize(("ratio", "inches"), TABLE)
def test_scale_typed_as_inches_to_the_foot(ratio, inches):
    assert read_scale(f"{inches} in = 1 ft") == read_scale(f"{inches}\"=1'") == Scale(1, ratio)


@pytest.mark.parametrize("ratio", [25, 50, 75, 100])
def test_metric_scales(ratio):
    assert read_scale(f"1:{ratio}") == Scale(1, ratio)


# 4, 4.5, 5, 6 and 16 ft, and planks of 10, 8 and 6 in: exact multiples of 304.8 / ratio.
MODEL_MM = [
    (192, "6.35 7.14375 7.9375 9.525 25.4", "1270/960 1016/960 0.79375"),
    (96, "12.7 14.2875 15.875 19.05 50.8", "2540/960 2032/960 1.5875"),
    (64, "19.05 21.43125 23.8125 28.575 76.2", "3.96875 3.175 2.38125"),
    (48, "25.4 28.575 31.75 38.1 101.6", "5080/960 4064/960 3.175"),
    (32, "38.1 42.8625 47.625 57.15 152.4", "7.9375 6.35 4.7625"),
]


@pytest.mark.parametrize(("ratio", "feet", "planks"), MODEL_MM)
def test_feet_and_planks_on_the_model(ratio, feet, planks):
    scale = Scale(1, ratio)

    on_model = [
        scale.to_model_mm(Fraction(foot) * Fraction("304.8")) for foot in ("4", "4.5", "5", "6", "16")
    ]
    widths = [scale.to_model_mm(Fraction(inch) * Fraction("25.4")) for inch in (10, 8, 6)]

    assert on_model == [Fraction(mm) for mm in feet.split()]
    assert widths == [Fraction(mm) for mm in planks.split()]


@pytest.mark.parametrize(
    ("old", "new", "factor"), [("1/4", "3/16", "3/4"), ("3/16", "1/4", "4/3"), ("1/8", "1/4", "2")]
)
def test_from_one_scale_to_another(old, new, factor):
    # Plain arithmetic: a length drawn at one scale, redrawn at another.
    before, after = (scale_of_inches_to_the_foot(Fraction(inches)) for inches in (old, new))

    assert after.to_model_mm(before.to_full_size_mm(Fraction(1))) == Fraction(factor)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("1:48", "1:48"),
        ("1 : 48", "1:48"),
        ("1/48", "1:48"),
        ("1 to 48", "1:48"),
        ("1=48", "1:48"),
        ("48", "1:48"),
        ("2:96", "1:48"),
        ("scale 1:48", "1:48"),
        ("1:48 scale", "1:48"),
        ("1:76.2", "1:76.2"),
        ("1:76,2", "1:76.2"),
        ("1:43 1/2", "1:43.5"),
        ("1/4", "1:48"),
        ("1/2", "1:24"),
        ("3/4", "1:16"),
        ("3/16", "1:64"),
        ("3/8", "1:32"),
        ("1/4 in", "1:48"),
        ("¼ in", "1:48"),
        ('1/4" scale', "1:48"),
        ("1/4 in = 1 ft", "1:48"),
        ("1/4 in = 1 ft.", "1:48"),
        ("1/4 in = 1 foot", "1:48"),
        ('1/4"=1\'-0"', "1:48"),
        ("1/4″ = 1′", "1:48"),
        ("1/4 inch to the foot", "1:48"),
        ("1/4 in to 1 ft", "1:48"),
        ("3 inches to 12 feet", "1:48"),
        ("12 in = 48 ft", "1:48"),
        ("10 mm = 1 m", "1:100"),
        ("1/4 in per foot", "1:48"),
        ("1/4 in/ft", "1:48"),
        ("0.25 in = 1 ft", "1:48"),
        ("0,25 in = 1 ft", "1:48"),
        ("1/8 in = 1 ft", "1:96"),
        ("1/16 in = 1 ft", "1:192"),
        ("1:16", "1:16"),
        ("1/64", "1:64"),
        ("1/72", "1:72"),
        ("1/12", "1:12"),
        ("1 cm = 1 m", "1:100"),
        ("2 cm to 1 m", "1:50"),
        ("6.35 mm = 1 ft", "1:48"),
        ("1:1", "1:1"),
        ("3:200", "3:200"),
    ],
)
def test_scale_a_person_would_read(text, shown):
    assert str(read_scale(text)) == shown


NOT_SCALES = """
x|1:0|0:48|0|48:1|1:-48|-48|1e3|1:1e3|nan|1:inf|1_000|1:48:2|1;48|1:６４|٤٨|1:5001|0.25|1/4 in = |= 1 ft
5/4 ft = 1 in|1,234|1 48|1/4/8|1/8|1/16|1/32|quarter|1-48|1:48 mm|1/0|0/4
99999999999999999999999999999999999999999999999
"""


@pytest.mark.parametrize("text", ["", *NOT_SCALES.strip().replace("\n", "|").split("|")])
def test_scale_a_person_would_not_read_is_refused_by_name(text):
    with pytest.raises(PlankingError) as refused:
        read_scale(text, field="scale of the model")

    assert refused.value.field == "scale of the model"
    assert str(refused.value).startswith("Scale of the model")


@pytest.mark.parametrize("amount", [0, -1])
@pytest.mark.parametrize("make", [scale_of_ratio, scale_of_inches_to_the_foot])
def test_scale_of_nothing_is_refused(make, amount):
    with pytest.raises(PlankingError, match="Scale must be more than nothing"):
        make(Fraction(amount))


def test_scale_in_use_both_ways_is_asked_for_in_full():
    with pytest.raises(PlankingError, match="write 1:16 or 1/16 in = 1 ft"):
        read_scale("1/16")


@pytest.mark.parametrize("parts", [(0, 48), (1, 0), (-1, 48), (1.0, 48), (True, 48), (2, 1), (1, 5001)])
def test_scale_out_of_reason_cannot_be_made(parts):
    with pytest.raises(PlankingError):
        Scale(*parts)


@given(ratio=st.fractions(min_value=1, max_value=5000, max_denominator=1000), mm=st.fractions(0, 1000))
def test_to_the_model_and_back_is_the_same_length(ratio, mm):
    scale = scale_of_ratio(ratio)

    assert scale.to_full_size_mm(scale.to_model_mm(mm)) == mm
    assert scale.ratio == ratio
    assert scale.inches_to_the_foot * ratio == 12


@given(ratio=st.integers(1, 5000))
def test_scale_shown_is_read_back(ratio):
    assert read_scale(str(Scale(1, ratio))) == Scale(1, ratio)
