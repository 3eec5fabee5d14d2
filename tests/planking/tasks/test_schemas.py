"""What a task asks for and answers, as a schema: the reader agrees with it."""

from dataclasses import dataclass
from fractions import Fraction
from types import SimpleNamespace

import pytest

from planking.errors import PlankingError
from planking.json_given import parse_json, read_given
from planking.json_schema import schema_of
from planking.json_told import told
from planking.lengths import Scale
from planking.tasks import CannotBeDone, task_named
from tests.planking.tasks.test_commands import NothingAsked, task_that


def test_schema_says_what_lists_hold():
    texts = schema_of(task_named("lengths"))["input"]["$defs"]["Asked"]["properties"]["texts"]
    stations = schema_of(task_named("next-widths"))["input"]["$defs"]["Asked"]["properties"]["stations"]

    assert texts == {"type": "array", "items": {"type": "string"}}
    assert stations == {"type": "array", "items": {"$ref": "#/$defs/StationAsked"}}


def test_schema_of_lengths_at_either_size():
    shape = schema_of(task_named("round"))["input"]["$defs"]["Asked"]

    assert shape["properties"]["step_in"]["description"] == "inches at full size"
    assert shape["additionalProperties"] is False
    assert {"oneOf": [{"required": ["step_mm"]}, {"required": ["step_in"]}]} in shape["allOf"]


def test_schema_of_a_task_that_may_be_impossible_says_how():
    def answer(asked: NothingAsked) -> NothingAsked | CannotBeDone:
        return CannotBeDone("", ())

    schema = schema_of(task_that(answer))

    assert {"$ref": "#/$defs/CannotBeDone"} in schema["output"]["anyOf"]


@dataclass(frozen=True)
class PairAsked:
    """A pair of lengths, and a table of widths by station."""

    ends_mm: tuple[Fraction, Fraction]
    widths_mm: dict[str, float]
    limit_mm: float = float("inf")


def test_schema_and_reader_agree_on_pairs_and_tables():
    task = SimpleNamespace(Asked=PairAsked, Answered=NothingAsked, answer=lambda asked: NothingAsked())

    shape = schema_of(task)["input"]["$defs"]["PairAsked"]
    found = read_given(PairAsked, {"ends_mm": [1, "2,5"], "widths_mm": {"M": "4.76 mm"}})

    assert shape["properties"]["ends_mm"]["items"] is False
    assert len(shape["properties"]["ends_mm"]["prefixItems"]) == 2
    assert schema_of(task)["output"]["$defs"]["NothingAsked"]["description"] == "Nothing."
    assert shape["properties"]["ends_mm"]["minItems"] == 2
    assert shape["properties"]["widths_mm"]["additionalProperties"]["type"] == ["number", "string"]
    assert shape["required"] == ["ends_mm", "widths_mm"]
    assert "default" not in shape["properties"]["limit_mm"]
    assert "widths_in" not in shape["properties"]
    assert found == PairAsked((Fraction(1), Fraction(5, 2)), {"M": 4.76})


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"ends_mm": [1], "widths_mm": {}}, r"ends_mm must be a list of 2"),
        ({"ends_mm": [1, 2], "widths_mm": []}, r"widths_mm must be an object in braces"),
        ({"ends_mm": [1, 2], "widths_mm": {"M": "x"}}, r"widths_mm\[M\]: "),
        ({"ends_in": [1, 2], "widths_mm": {}}, r"not known"),
    ],
)
def test_pairs_and_tables_out_of_form_are_refused(given, says):
    with pytest.raises(PlankingError, match=says):
        read_given(PairAsked, given)


def test_numbers_may_be_given_as_text_and_lengths_at_full_size():
    asked = task_named("next-widths").Asked
    station = {"name": "M", "gap_in": "42 1/2", "strakes_left": "5", "shares": ["1 1/4", "1", 1, 1, 1]}

    found = read_given(asked, {"stations": [station], "seam_mm": "0,014", "scale": "1/4 in = 1 ft"})

    assert found.stations[0].gap_mm == Fraction("42.5") * Fraction("25.4") / 48
    assert found.stations[0].strakes_left == 5
    assert found.stations[0].shares == (Fraction(5, 4), 1, 1, 1, 1)
    assert found.seam_mm == Fraction("0.014")
    assert found.scale == Scale(1, 48)


@pytest.mark.parametrize("inches", [42.5, "42 1/2", "42,5", '42 1/2"', "3 ft 6 1/2"])
def test_full_size_inches_may_be_a_number_or_text(inches):
    asked = read_given(task_named("round").Asked, {"widths_in": [inches], "step_mm": 1, "scale": 48})

    assert asked.widths_mm == (Fraction("1079.5") / 48,)


def test_ten_megabytes_are_read_and_one_byte_more_is_not():
    assert parse_json(b"7" + b" " * 9_999_999) == 7
    with pytest.raises(PlankingError, match="over 10 MB"):
        parse_json(b"7" + b" " * 10_000_000)


def test_limits_of_the_task_are_half_and_one_and_a_half_where_none_are_given():
    task = task_named("next-widths")
    gaps = [{"name": "FH", "gap_mm": 2.4}, {"name": "DF", "gap_mm": 5}, {"name": "AH", "gap_mm": 7.6}]
    asked = read_given(task.Asked, {"stations": gaps, "strakes_left": 1, "full_width_mm": 5})

    found = task.answer(asked).stations

    assert [[warning.limit_mm for warning in station.warnings] for station in found] == [
        [Fraction("2.5")],
        [],
        [Fraction("7.5")],
    ]


def test_json_numbers_are_exact_and_a_byte_order_mark_is_no_trouble():
    assert parse_json(b"\xef\xbb\xbf[0.1, 1e-3, 7]") == [Fraction(1, 10), Fraction(1, 1000), 7]


def test_exact_numbers_are_told_as_the_nearest_plain_ones():
    shown = told(
        {"half": Fraction(1, 2), "three": Fraction(3), "third": Fraction(1, 3), "row": (1.5, None, True)}
    )

    assert shown == {"half": 0.5, "three": 3, "third": 1 / 3, "row": [1.5, None, True]}
    assert isinstance(shown["three"], int)


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_answer_never_holds_what_json_has_no_sign_for(value):
    with pytest.raises(PlankingError):
        told({"x": value})


def test_lengths_are_told_back_in_both_units_with_their_remainders():
    task = task_named("lengths")
    asked = read_given(task.Asked, {"texts": ["8 1/3"], "unit": "in", "size": "full", "scale": "1:48"})

    length = told(task.answer(asked))["lengths"][0]

    # 8 1/3 in is 25 x 25.4 / 144 mm = 635/144. To 1/16 it is 8 5/16; 1/48 in is left, 127/11520 mm.
    assert (length["exact_mm"], length["shown_mm"]) == ("635/144", "4.41")
    assert (length["inches"], length["inches_are_exact"]) == ("roughly 8 5/16 in", False)
    assert length["inches_remainder_mm"] == "127/11520"
    assert length["length_nm"] == 4_409_722
