"""Fastening by width: the rule of 1891 at its edges, and which strakes of a plan it sorts where."""

import pytest

from buildlog.measuring.fastenings import fastening_of, fastenings
from planking.scales import Scale

SCALE = Scale(1, 48)


def nm(inches: float) -> int:
    return round(inches * 25_400_000 / 48)


@pytest.mark.parametrize(
    ("inches", "kind"),
    [(11.5, "double"), (10, "double"), (9.99, "alternate"), (9, "alternate"), (8.5, "alternate"), (8.49, "single"),
     (5, "single")],
)  # fmt: skip
def test_fastening_by_width_of_1891(inches, kind):
    """10 in and over double; 8.5 to 10 in double and single alternately; under 8.5 in single (rules of 1891)."""
    assert fastening_of(nm(inches), SCALE) == kind


def test_strakes_are_sorted_by_how_they_are_fastened():
    found = fastenings([("1", nm(11.5)), ("2", nm(9)), ("3", nm(9)), ("4", nm(8))], SCALE)

    assert [(f.kind, f.labels) for f in found] == [("double", ("1",)), ("alternate", ("2", "3")), ("single", ("4",))]


def test_without_a_scale_nothing_is_said():
    assert fastenings([("1", nm(9))], None) == []
