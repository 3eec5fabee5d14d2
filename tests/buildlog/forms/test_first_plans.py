"""The first run's own questions: how much hangs, how many are left, and the gap at each station."""

import pytest
from django.http import QueryDict

from buildlog.forms.first_plans import GapsForm, PlankingForm
from buildlog.forms.lengths import Ruler
from planking.lengths import Scale

MM = Ruler("mm", "model", Scale(1, 48))
STATIONS = ["Q", "H", "⊗", "8", "16"]
USUAL = {"gap_0": "14.97", "gap_1": "20.82", "gap_2": "22.16", "gap_3": "21.27", "gap_4": "20.93"}


def posted(data):
    query = QueryDict(mutable=True)
    query.update(data)
    return query


def gaps_form(data, ruler=MM, left=5):
    return GapsForm(posted(data), stations=STATIONS, left_at=[left] * 5, ruler=ruler)


def planking_form(data, sides=("port", "starboard")):
    return PlankingForm(posted({"version": "1", **data}), sides=list(sides), stations=STATIONS, ruler=MM)


def test_gaps_come_out_in_nm_as_typed():
    form = gaps_form(USUAL)

    assert form.is_valid()
    assert form.gaps()[2] == {"nm": 22_160_000, "typed": "22.16", "unit": "mm", "size": "model", "reason": ""}


def test_one_gap_is_enough_and_the_others_may_stay_empty():
    form = gaps_form({"gap_2": "22.16"})

    assert form.is_valid()
    assert list(form.gaps()) == [2]


def test_no_gap_at_all_is_said():
    form = gaps_form({})

    assert form.non_field_errors() == [
        "No gap was typed yet. One place is enough to begin with; five tell more."
    ]


@pytest.mark.parametrize(
    ("typed", "left", "answer"),
    [
        pytest.param("0.837", 5, "0.837 in on the model", id="inches typed as mm"),
        pytest.param("2127", 5, "21.27 mm", id="the point left out"),
        pytest.param("40", 2, "40 in at full size", id="inches of the real vessel"),
    ],
)
def test_gap_that_looks_like_another_unit_is_asked_about(typed, left, answer):
    form = gaps_form(USUAL | {"gap_3": typed}, left=left)

    assert set(form.errors) == {"gap_3"}
    assert answer in [one["value"] for one in form.questions["gap_3"].answers]


def test_every_gap_in_inches_is_asked_about_at_every_place():
    """No neighbour to judge by: the strakes themselves would be 0.12 mm wide."""
    inches = {"gap_0": "0.589", "gap_1": "0.820", "gap_2": "0.872", "gap_3": "0.837", "gap_4": "0.824"}

    form = gaps_form(inches)

    assert set(form.errors) == set(inches)
    assert form.questions["gap_0"].answers[0]["value"] == "0.589 in on the model"


def test_mm_typed_into_inches_are_asked_about():
    form = gaps_form(USUAL, ruler=Ruler("in", "model", Scale(1, 48)))

    assert set(form.errors) == set(USUAL)
    assert form.questions["gap_2"].answers[0]["value"] == "22.16 mm on the model"


def test_odd_gap_is_kept_with_its_reason():
    form = gaps_form(USUAL | {"gap_3": "0.837", "gap_3-keep": "a sliver, really"})

    assert form.is_valid()
    assert form.gaps()[3]["nm"] == 837_000
    assert form.gaps()[3]["reason"] == "a sliver, really"


def test_bow_that_is_narrow_is_not_odd():
    form = gaps_form(USUAL | {"gap_0": "8.20"})

    assert form.is_valid()


@pytest.mark.parametrize("typed", ["-3", "0", "nan", "inf", "1e5", "٢٢", "22;16", "22.16.1", "9" * 300])
def test_hostile_gap_is_refused_by_name_and_stays_as_typed(typed):
    form = gaps_form(USUAL | {"gap_2": typed})

    assert set(form.errors) == {"gap_2"}
    assert form.errors["gap_2"][0].startswith("Gap at ⊗")
    assert form["gap_2"].value() == typed


def test_gap_of_spaces_is_left_out():
    form = gaps_form(USUAL | {"gap_2": "   "})

    assert form.is_valid()
    assert 2 not in form.gaps()


def test_empty_second_side_is_as_the_first():
    form = planking_form({"port_hung_keel": "4", "port_hung_wale": "9", "port_left": "5"})

    assert form.is_valid()
    assert form.told("starboard") == form.told("port") == {"hung_keel": 4, "hung_wale": 9, "left": 5}


def test_second_side_may_differ():
    form = planking_form({"port_left": "5", "starboard_hung_wale": "3", "starboard_left": "8"})

    assert form.is_valid()
    assert form.told("starboard") == {"hung_keel": 0, "hung_wale": 3, "left": 8}


def test_bare_hull_needs_only_the_strakes_left():
    form = planking_form({"port_left": "18"}, sides=["port"])

    assert form.is_valid()
    assert form.told("port") == {"hung_keel": 0, "hung_wale": 0, "left": 18}


@pytest.mark.parametrize(
    ("data", "field", "sentence"),
    [
        ({}, "port_left", "Strakes left to hang: nothing was typed."),
        ({"port_left": "0"}, "port_left", "Strakes left to hang: 1 at least."),
        ({"port_left": "61"}, "port_left", "Strakes left to hang: 60 at most."),
        ({"port_left": "five"}, "port_left", "Strakes left to hang: write a whole number."),
        ({"port_left": "5", "port_hung_keel": "-1"}, "port_hung_keel", "Hung from the keel: 0 at least."),
        (
            {"port_left": "5", "left_0": "6"},
            "left_0",
            "Strakes left at Q: 6 is more than the 5 left in all.",
        ),
    ],
)
def test_count_that_cannot_be_is_refused_by_name(data, field, sentence):
    form = planking_form(data, sides=["port"])

    assert form.errors[field] == [sentence]


def test_every_place_with_fewer_than_all_is_refused():
    form = planking_form({"port_left": "5", **{f"left_{i}": "4" for i in range(5)}}, sides=["port"])

    assert form.errors["left_0"] == ["Strakes left at each place: one place at least has all 5."]


def test_stock_is_read_in_the_builds_own_unit():
    form = planking_form({"port_left": "5", "stock": "1/4 in"})

    assert form.is_valid()
    assert form.cleaned_data["stock"].nm == 6_350_000
