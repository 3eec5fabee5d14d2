"""A figure that looks as if it was typed in another unit is asked about, both ways, and never changed."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planking.lengths import INCH_MM, PlankingError, Scale, likely_other_unit, question_about

QUARTER = Scale(1, 48)
PLANNED = Fraction("4.7625")


def read_as(figure: str, unit: str, size: str) -> Fraction:
    """The mm on the model of a figure read in a box of that unit and size."""
    mm = Fraction(figure) * (INCH_MM if unit == "in" else 1)
    return mm / 48 if size == "full" else mm


@pytest.mark.parametrize(
    ("figure", "unit", "size", "likeliest", "mm"),
    [
        ("9", "mm", "model", "9 in at full size", "4.7625"),
        ("0.188", "mm", "model", "0.188 in on the model", "4.7752"),
        ("476", "mm", "model", "4.76 mm on the model", "4.76"),
        ("47.6", "mm", "model", "4.76 mm on the model", "4.76"),
        ("0.476", "mm", "model", "4.76 mm on the model", "4.76"),
        ("188", "mm", "model", "0.188 in on the model", "4.7752"),
        ("12", "mm", "model", "12/64 in on the model", "4.7625"),
        ("228.6", "mm", "model", "228.6 mm at full size", "4.7625"),
        ("4.76", "in", "full", "4.76 mm on the model", "4.76"),
        ("4.76", "in", "model", "4.76 mm on the model", "4.76"),
        ("0.188", "in", "full", "0.188 in on the model", "4.7752"),
        ("9", "in", "model", "9 in at full size", "4.7625"),
        ("476", "in", "full", "4.76 mm on the model", "4.76"),
        ("9", "mm", "full", "9 in at full size", "4.7625"),
    ],
)
def test_figure_typed_in_another_unit_is_recognised(figure, unit, size, likeliest, mm):
    value = read_as(figure, unit, size)

    answers = likely_other_unit(value, PLANNED, QUARTER, unit=unit, size=size)

    assert (answers[0].words, answers[0].mm) == (likeliest, Fraction(mm))


@pytest.mark.parametrize("figure", ["4.76", "4.70", "4.95", "4.58", "4.30", "5.20", "5.47", "4.05"])
def test_figure_near_the_plan_is_not_questioned(figure):
    assert likely_other_unit(Fraction(figure), PLANNED, QUARTER) == ()


def test_bounds_of_the_question_by_hand():
    # Of a planned 100: 104 is at the visible change and left alone; 11.5 is one point away from 115.
    assert likely_other_unit(104, 100) == ()
    assert [answer.words for answer in likely_other_unit(Fraction("11.5"), 100)] == ["115 mm on the model"]
    assert likely_other_unit(Fraction("11.51"), 100) == ()
    assert likely_other_unit(Fraction("8.49"), 100) == ()
    # At 115 an inch reading must come within 15 / 4 of the plan; none does.
    assert likely_other_unit(115, 100) == ()


@pytest.mark.parametrize("figure", ["0", "3.2", "6.5", "30", "2"])
def test_figure_that_is_only_wrong_gets_no_other_reading(figure):
    assert likely_other_unit(Fraction(figure), PLANNED, QUARTER) == ()


def test_figure_near_by_chance_is_asked_about_when_the_other_reading_is_much_nearer():
    # At 1:24 nine inches are 9.525 mm, so 9 in an mm box is only 5.5 % off; the inches are exact.
    answers = likely_other_unit(9, Fraction("9.525"), Scale(1, 24))

    assert answers[0].words == "9 in at full size"


def test_figure_without_a_scale_still_knows_inches_on_the_model():
    answers = likely_other_unit(Fraction("0.188"), PLANNED)

    assert [answer.words for answer in answers] == ["0.188 in on the model"]


def test_mistake_is_named():
    def mistake(figure, unit, size, wanted):
        answers = likely_other_unit(read_as(figure, unit, size), PLANNED, QUARTER, unit=unit, size=size)
        return next(answer.mistake for answer in answers if answer.words == wanted)

    assert mistake("9", "mm", "model", "9 in at full size") == "unit and size"
    assert mistake("0.188", "mm", "model", "0.188 in on the model") == "unit"
    assert mistake("9", "in", "model", "9 in at full size") == "size"
    assert mistake("476", "mm", "model", "4.76 mm on the model") == "point"
    assert mistake("188", "mm", "model", "0.188 in on the model") == "unit and point"
    assert mistake("12", "mm", "model", "12/64 in on the model") == "sixty-fourths"


def test_question_names_the_figure_the_plan_and_the_answer():
    answers = likely_other_unit(9, PLANNED, QUARTER)

    assert question_about("9", PLANNED, answers) == (
        "9 is far from the planned 4.76 mm. Was 9 in at full size meant, which is 4.76 mm?"
    )
    assert question_about("4.76", PLANNED, ()) == ""


@pytest.mark.parametrize(
    ("value", "planned"), [(float("nan"), 4.76), (4.76, 0), (4.76, -1), (4.76, float("inf"))]
)
def test_numbers_that_are_none_are_refused(value, planned):
    with pytest.raises(PlankingError):
        likely_other_unit(value, planned, QUARTER)


planks = st.fractions(min_value=1, max_value=12, max_denominator=1000)


@given(planned=planks)
def test_full_size_inches_typed_as_mm_are_always_among_the_answers(planned):
    inches = QUARTER.to_full_size_mm(planned) / INCH_MM

    answers = likely_other_unit(inches, planned, QUARTER)

    assert any(answer.mm == planned and (answer.unit, answer.size) == ("in", "full") for answer in answers)


@given(planned=planks)
def test_mm_typed_as_full_size_inches_are_always_among_the_answers(planned):
    value = QUARTER.to_model_mm(planned * INCH_MM)

    answers = likely_other_unit(value, planned, QUARTER, unit="in", size="full")

    assert any(answer.mm == planned and (answer.unit, answer.size) == ("mm", "model") for answer in answers)


@given(value=st.fractions(0, 500, max_denominator=1000), planned=planks)
def test_answers_are_near_the_plan_and_nearer_than_the_figure(value, planned):
    answers = likely_other_unit(value, planned, QUARTER)

    off = abs(value - planned)
    assert all(abs(answer.mm - planned) <= planned * Fraction(15, 100) for answer in answers)
    assert all(abs(answer.mm - planned) < off for answer in answers)
    assert list(answers) == sorted(answers, key=lambda answer: abs(answer.mm - planned))
