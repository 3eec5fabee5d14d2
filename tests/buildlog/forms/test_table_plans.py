"""The dry run of planned widths: what would change, and what is doubted."""

from datetime import UTC, datetime

import pytest

from buildlog.actions.planks import hang_strake
from buildlog.forms.sheets import read_sheet
from buildlog.forms.table_cells import LEFT, NOTE, ODD
from buildlog.forms.table_plans import dry_run_plan
from buildlog.forms.tables import propose
from buildlog.queries.table_imports import known_for

NOW = datetime(2026, 3, 14, 19, 30, tzinfo=UTC)


@pytest.fixture
def look(hull):
    """Return a function from the text of a table to its dry run against the small hull (all widths 5.00)."""

    def run(text, **said):
        known, sheet = known_for(hull.build, "plan"), read_sheet(text)
        return dry_run_plan(sheet, known, propose(sheet, known, kind="plan") | said)

    return run


def changes(run) -> dict:
    lines = run.plan.lines.values()
    return {(line.label, pk): length.nm for line in lines for pk, length in line.widths.items()}


def test_only_what_differs_is_a_change(look, hull):
    run = look("strake,F,M,A\n1,5,5.00,5.05\n2,5,5,5\n")

    assert changes(run) == {("1", hull.stations[2].pk): 5_050_000}
    assert run.there == 5


def test_long_table_is_read(look, hull):
    run = look("strake,station,planned mm\n1,F,5.1\n3,M,4.9\n")

    assert changes(run) == {("1", hull.stations[0].pk): 5_100_000, ("3", hull.stations[1].pk): 4_900_000}


def test_lines_of_sums_are_passed_over_and_a_girth_is_taken(look, hull):
    run = look("line,strake,M mm\nstrake,1,5.2\nsum of widths,,25.2\nseams,,0\ngirth,,25.2\nleft over,,0\n")

    assert run.plan.girths == {(hull.opening.pk, hull.stations[1].pk): 25_200_000}
    assert run.plan.count == 2
    assert run.doubts == []


def test_widths_that_would_not_close_are_said(look):
    run = look("strake,M\n1,5.2\n2,4.9\n")

    assert [(d.column, d.why, d.weight) for d in run.doubts] == [
        ("M", "the widths here come to 0.10 mm more than in the plan in force", NOTE)
    ]


def test_widths_of_a_strake_in_hand_stay(look, hull):
    hang_strake(hull.strakes["1"], person=hull.person, now=NOW)

    run = look("strake,M\n1,5.1\n2,4.9\n")

    assert [label for label, _station in changes(run)] == ["2"]
    assert [(d.text, d.taken_for) for d in run.doubts if d.weight == LEFT] == [("5.1", "5.00 mm")]


def test_figure_far_off_waits_for_the_builder(look):
    text = "strake,M\n1,0.197\n"

    assert changes(look(text)) == {}
    assert [d.weight for d in look(text).doubts] == [ODD]
    assert len(changes(look(text, odd="take"))) == 1


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ("9,,,,4", "no such strake in the plan in force"), ("9,x,keel,,4", "no such strake in the plan in force"),
        ("9,2,forward,,4", "no such strake in the plan in force"), (",2,keel,,4", "no strake is named"),
        ("a label too long,2,keel,,4", "twelve letters"), ("9,2,closing,,4", "one closing strake"),
        ("9,2,keel,,", "without a width"), ("1,1,keel,,=4", "formula"), ("1,1,keel,,-4", "Figure"),
    ],
)  # fmt: skip
def test_line_that_cannot_be_placed_or_read_is_left_out(row, why, look):
    run = look(f"strake,from the keel,run,spans,M\n{row}\n2,2,keel,,5.1\n")

    assert [label for label, _station in changes(run)] == ["2"]
    assert why in " ".join(d.why for d in run.doubts if d.weight == LEFT)


@pytest.mark.parametrize(
    ("spans", "found", "why"),
    [
        ("-1 to 0", [[-1, 0]], ""), ("3 to 9; -4 to 1", [[-4, 1], [3, 9]], ""),
        ("1 to 5; 4 to 9", [], "spans overlap"), ("all of it", [], "no span"),
    ],
)  # fmt: skip
def test_spans_of_a_new_strake_are_read_and_never_overlap(spans, found, why, look, hull):
    run = look(f'strake;from the keel;run;spans;M\n2a;3;keel;"{spans}";4\n')

    assert run.plan.lines[hull.opening.pk, "2a"].spans == found
    assert not why or why in " ".join(d.why for d in run.doubts)


def test_strake_and_station_told_twice_keep_the_first(look, hull):
    run = look("strake,M\n1,5.1\n1,5.2\n")

    assert changes(run) == {("1", hull.stations[1].pk): 5_100_000}
    assert "row 2 has this strake and station already" in [d.why for d in run.doubts]
