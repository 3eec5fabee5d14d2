"""Lengths in forms: read exactly, refused by the name of the field, asked about when odd, never lost."""

from fractions import Fraction

import pytest
from django.http import QueryDict

from buildlog.forms.lengths import AskingForm, LengthField, Ruler, read_typed
from planking.lengths import PlankingError, Scale

QUARTER_INCH = Scale(1, 48)
MM = Ruler("mm", "model", QUARTER_INCH)
INCH = Ruler("in", "model", QUARTER_INCH)
PARTS = Ruler("64ths", "model", QUARTER_INCH)


class OneWidth(AskingForm):
    """One width at M, planned 4.41 unless a test says otherwise."""

    def __init__(self, data=None, *, ruler=MM, expected_nm=4_410_000, required=True):
        posted = QueryDict(mutable=True)
        posted.update(data or {})
        super().__init__(posted if data is not None else None)
        self.fields["width"] = LengthField(
            ruler=ruler, words="width at M", expected_nm=expected_nm, required=required
        )


@pytest.mark.parametrize(
    ("typed", "ruler", "nm", "unit", "size"),
    [
        pytest.param("4.76", MM, 4_760_000, "mm", "model", id="point"),
        pytest.param("4,76", MM, 4_760_000, "mm", "model", id="comma"),
        pytest.param("0.188 in", MM, 4_775_200, "in", "model", id="a unit wins over the ruler"),
        pytest.param("9 in at full size", MM, 4_762_500, "in", "full", id="a size wins over the ruler"),
        pytest.param("9 in full", MM, 4_762_500, "in", "full", id="a size in short"),
        pytest.param("4.76 mm on the model", INCH, 4_760_000, "mm", "model", id="mm where inches are usual"),
        pytest.param("0.188", INCH, 4_775_200, "in", "model", id="decimal inch"),
        pytest.param("3/16", INCH, 4_762_500, "in", "model", id="fraction"),
        # 12/64 in = 3/16 in = 4.7625 mm, by hand: 25.4 x 12 / 64 (1 in = 25.4 mm, the agreement of 1959).
        pytest.param("12", PARTS, 4_762_500, "64ths", "model", id="whole sixty-fourths"),
        pytest.param("12 1/2", PARTS, 4_960_938, "64ths", "model", id="half a sixty-fourth"),
        pytest.param("12½", PARTS, 4_960_938, "64ths", "model", id="half, as one sign"),
        pytest.param("3/16", PARTS, 4_762_500, "in", "model", id="a fraction is inches"),
        pytest.param("0.188", PARTS, 4_775_200, "in", "model", id="a decimal under one is inches"),
        pytest.param("4.76 mm", PARTS, 4_760_000, "mm", "model", id="mm on a caliper of 64ths"),
    ],
)
def test_typed_length_is_read_exactly_and_kept_as_typed(typed, ruler, nm, unit, size):
    length = read_typed(typed, words="width at M", ruler=ruler)

    assert (length.nm, length.unit, length.size, length.typed) == (nm, unit, size, typed)


@pytest.mark.parametrize(
    ("typed", "ruler", "sentence"),
    [
        ("-4.76", MM, "Width at M cannot be below zero."),
        ("0", MM, "Width at M must be more than nothing."),
        ("4.7.6", MM, 'Width at M: "4.7.6" is not read as one figure.'),
        ("NaN", MM, "Width at M: "),
        ("1e9", MM, "Width at M: "),
        ("9999999999", MM, "Width at M is longer than any ship."),
        ("٤.٧٦", MM, "Width at M: "),
        ("four", MM, "Width at M: "),
        ("4.76<script>", MM, "Width at M: "),
        ("4" * 500, MM, "Width at M is longer than 40 signs"),
        ("12.5", PARTS, 'Width at M: "12.5" can be read two ways; write 12 1/2 for 64ths, or add in or mm.'),
    ],
)
def test_unreadable_length_is_refused_by_the_name_of_its_field(typed, ruler, sentence):
    with pytest.raises(PlankingError) as refused:
        read_typed(typed, words="width at M", ruler=ruler)

    assert str(refused.value).startswith(sentence)


def test_full_size_without_a_scale_asks_for_the_scale():
    with pytest.raises(PlankingError, match="the scale of the model is needed first"):
        read_typed("9 in full size", words="width at M", ruler=Ruler("mm", "model", None))


def test_refused_text_stays_in_the_field():
    form = OneWidth({"width": "4.7.6"})

    assert not form.is_valid()
    assert 'value="4.7.6"' in str(form["width"])


def test_empty_required_length_names_its_field():
    form = OneWidth({"width": ""})

    assert form.errors == {"width": ["Width at M: nothing was typed."]}


def test_empty_optional_length_is_none():
    form = OneWidth({"width": ""}, required=False)

    assert form.is_valid()
    assert form.cleaned_data["width"] is None


def test_nine_for_the_planned_width_asks_with_the_likely_meaning():
    """9 where 4.76 is planned: at 1:48, 9 in of the real vessel are 4.7625 mm."""
    form = OneWidth({"width": "9"}, expected_nm=4_760_000)

    assert not form.is_valid()
    question = form.questions["width"]
    assert question.first == "9 is 4.24 over the plan (4.76)."
    assert question.rest == "Did you mean 9 in at full size (4.76)?"
    assert question.answers == [{"label": "4.76", "name": "width-take", "value": "9 in at full size"}]


def test_twice_the_plan_is_said_so():
    form = OneWidth({"width": "9.00"})

    assert not form.is_valid()
    assert form.questions["width"].first == "9.00 is twice the plan (4.41)."


def test_inches_typed_as_mm_are_asked_about_the_other_way_too():
    as_mm = OneWidth({"width": "0.188"}, expected_nm=4_760_000)
    as_inches = OneWidth({"width": "4.76"}, ruler=INCH, expected_nm=4_760_000)

    assert not as_mm.is_valid()
    assert not as_inches.is_valid()
    assert as_mm.questions["width"].answers[0]["value"] == "0.188 in on the model"
    assert as_inches.questions["width"].answers[0]["value"] == "4.76 mm on the model"


def test_chosen_answer_takes_the_place_of_the_figure():
    form = OneWidth({"width": "9", "width-take": "9 in at full size"}, expected_nm=4_760_000)

    assert form.is_valid()
    length = form.cleaned_data["width"]
    assert (length.mm, length.typed, length.size) == (Fraction(381, 80), "9 in at full size", "full")


def test_odd_figure_with_a_reason_is_kept():
    form = OneWidth({"width": "9", "width-keep": "  really this wide  "}, expected_nm=4_760_000)

    assert form.is_valid()
    assert form.cleaned_data["width"].nm == 9_000_000
    assert form.kept_reasons == {"width": "really this wide"}


def test_reason_of_spaces_is_no_reason():
    form = OneWidth({"width": "9", "width-keep": "   "}, expected_nm=4_760_000)

    assert not form.is_valid()
    assert form.kept_reasons == {}


def test_figure_near_the_plan_is_not_asked_about():
    form = OneWidth({"width": "4.50"})

    assert form.is_valid()
    assert form.questions == {}


def test_figure_far_off_without_another_meaning_asks_for_a_reason_only():
    form = OneWidth({"width": "5.60"})

    assert not form.is_valid()
    assert form.questions["width"].answers == []
    assert form.questions["width"].keep_label == "Keep 5.60, with a reason"
    assert form.questions["width"].first == "5.60 is 1.19 over the plan (4.41)."


def test_taking_an_answer_for_a_field_that_is_not_there_changes_nothing():
    form = OneWidth({"width": "4.41", "other-take": "9 in", "-take": "x"})

    assert form.is_valid()
    assert form.cleaned_data["width"].nm == 4_410_000
