"""The dry run of readings: what each cell is taken for, and each doubt with its row, its column and its reason."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from buildlog.forms.sheets import read_sheet
from buildlog.forms.table_cells import LEFT, NOTE, ODD, THERE, read_when
from buildlog.forms.table_rows import dry_run
from buildlog.forms.tables import propose
from buildlog.models import NM_PER_MM
from buildlog.queries.table_imports import known_for
from tests.factories import PersonFactory, ReadingFactory
from tests.hulls import lay_down_hull

NOW = datetime(2026, 3, 14, 19, 30, tzinfo=UTC)


@pytest.fixture
def look(hull):
    """Return a function from the text of a table to its dry run on the small hull (all widths planned 5.00)."""

    def run(text, kind="widths", build=hull.build, **said):
        known, sheet = known_for(build, kind), read_sheet(text)
        usual = {"happened_on": "2026-03-14", "opening": str(hull.opening.pk), "importer": hull.person.pk}
        return dry_run(sheet, known, usual | propose(sheet, known, kind=kind) | said, now=NOW)

    return run


def said(run) -> list[tuple]:
    return [(one.row, one.column, one.text, one.weight) for one in run.doubts]


def figures(readings) -> list[int]:
    return [one.nm for one in readings]


def test_wide_table_with_commas_and_blanks_is_read(look):
    run = look("strake;F mm;M mm;A mm\n1;5,02;;4,98\n2;5,00;5,1 mm;-\n")

    assert figures(run.readings) == [5_020_000, 4_980_000, 5_000_000, 5_100_000]
    assert said(run) == [(2, "M mm", "", NOTE), (3, "A mm", "-", NOTE)]


def test_long_table_is_read_with_who_when_and_how(look, hull):
    anna = PersonFactory(build=hull.build, display_name="Anna B")
    run = look(
        "Strake,Station,Width mm,Date,Person,Instrument,Stage,Wood\n"
        "1,m,5.01,2026-03-01 10:15,anna b,caliper,hung,damp\n"
    )

    [one] = run.readings
    assert (one.nm, one.person, one.instrument) == (5_010_000, anna.pk, hull.caliper.pk)
    assert (one.stage, one.damp, one.method) == ("hung", "damp", "jaws")
    assert one.happened_at == datetime(2026, 3, 1, 10, 15, tzinfo=UTC)
    assert run.doubts == []


@pytest.mark.parametrize(
    ("cells", "column", "text", "why"),
    [
        ("9,M,5.0", "strake", "9", "no such strake"),
        (",M,5.0", "strake", "", "no strake is named"),
        ("1,Z,5.0", "station", "Z", "no such station"),
        ("1,,5.0", "station", "", "no station is named"),
        ("1,M,", "mm", "", "no figure"),
        ("1,M,about five", "mm", "about five", "Figure"),
        ("1,M,=5.0", "mm", "=5.0", "formula"),
        ("1,M,@A1", "mm", "@A1", "formula"),
        ("1,M,+5.0", "mm", "+5.0", "formula"),
        ("1,M,-5.0", "mm", "-5.0", "Figure"),
        ("1,M,0", "mm", "0", "more than nothing"),
        ("1,M,nan", "mm", "nan", "Figure"),
        ("1,M,1e3", "mm", "1e3", "Figure"),
        ("1,M,٥", "mm", "٥", "Figure"),
        ("1,M,3/16", "mm", "3/16", "Figure"),
    ],
)
def test_cell_that_cannot_be_placed_or_read_is_left_out_with_its_reason(cells, column, text, why, look):
    run = look(f"strake,station,mm\n{cells}\n2,M,5.0\n")

    assert figures(run.readings) == [5_000_000]
    assert said(run) == [(2, column, text, LEFT)]
    assert why in run.doubts[0].why


@pytest.mark.parametrize(
    ("figure", "why"),
    [("0.197", "0.197 in"), ("9 1/2", None), ("50.1", "5.01"), ("6.2", "over"), ("2.5", "half of"), ("500", "5.00")],
)
def test_figure_far_off_the_plan_is_odd_and_says_what_it_may_have_been(figure, why, look):
    run = look(f"strake,station,mm\n1,M,{figure}\n")

    if why is None:
        assert [one.weight for one in run.doubts] == [LEFT]
        return
    assert (figures(run.readings), len(run.odd), run.doubts[0].weight) == ([], 1, ODD)
    assert why in run.doubts[0].why
    assert len(run.to_take("take")) == 1
    assert run.to_take("leave") == []


def test_inches_are_read_where_the_column_says_inches(look):
    run = look("strake,station,width in\n1,M,0.197\n2,M,3/16\n")

    assert figures(run.readings)[0] == round(0.197 * 25.4 * NM_PER_MM)
    # 3/16 in is 4.76 mm, near enough to 5.00 to be no slip of unit.
    assert figures(run.readings + run.odd)[1] == 4_762_500


def test_full_size_is_read_by_the_scale(look):
    run = look("strake,M full size in\n1,9 1/2\n")

    assert figures(run.readings) == [round(9.5 * 25.4 / 48 * NM_PER_MM)]


def test_person_and_instrument_nobody_knows_are_said_and_the_importer_stands(look, hull):
    run = look("strake,station,mm,person,instrument\n1,M,5.0,Nobody,Caliper Z\n")

    assert [(d.column, d.weight, d.taken_for) for d in run.doubts] == [
        ("person", NOTE, hull.person.display_name),
        ("instrument", NOTE, "not said"),
    ]
    assert (run.readings[0].person, run.readings[0].instrument) == (hull.person.pk, None)


def test_reading_the_log_has_is_there_already(look, hull):
    ReadingFactory(
        build=hull.build,
        opening=hull.opening,
        strake=hull.strakes["1"],
        station=hull.stations[1],
        value_nm=5_000_000,
        happened_at=NOW,
        person=hull.person,
    )

    run = look("strake,station,mm,date\n1,M,5.00,2026-03-14\n1,M,5.00,2026-03-13\n1,M,5.01,2026-03-14\n")

    assert [d.weight for d in run.doubts] == [THERE]
    assert len(run.readings) == 2


def test_row_that_says_the_same_as_another_is_taken_once(look):
    run = look("strake,station,mm\n1,M,5.0\n1,M,5.00\n1,M,5.02\n")

    assert figures(run.readings) == [5_000_000, 5_020_000]
    assert run.doubts[0].why == "says the same as row 2"


@pytest.mark.parametrize("state", ["withdrawn", "replaced", "taken out"])
def test_reading_that_did_not_count_is_left_out(state, look):
    run = look(f"strake,station,mm,state\n1,M,5.0,{state}\n2,M,5.0,counts\n3,M,5.0,not counted\n")

    assert len(run.readings) == 2
    assert said(run) == [(2, "state", state, LEFT)]


def test_gap_over_the_whole_girth_is_odd(look):
    run = look("station,gap mm\nM,25.0\nF,27\nA,3.1\n", kind="gaps")

    assert figures(run.readings) == [25_000_000, 3_100_000]
    assert run.doubts[0].why == "more than the whole girth here, 25.00 mm"


@pytest.mark.parametrize("kind", ["gaps", "widths"])
def test_row_of_more_cells_than_titles_is_left_out(kind, look):
    """A decimal comma in a table that commas part: 3,1 would be read as 3."""
    run = look("strake,station,mm\n1,M,5,1\n1,F,5.1\n", kind=kind)

    assert figures(run.readings) == [5_100_000]
    assert [(d.row, d.text, d.weight) for d in run.doubts] == [(2, "1", LEFT)]


def test_side_is_known_by_its_letter_and_an_unknown_one_is_left_out(look, owner):
    both = lay_down_hull(owner, sides=("port", "starboard"), name="Both")
    run = look("side,station,gap mm\nP,M,5\nStbd,M,6\nmiddle,M,7\n,M,8\n", kind="gaps", build=both.build, opening="")

    assert {one.opening for one in run.readings} == {one.pk for one in both.openings}
    assert [(d.text, d.weight) for d in run.doubts] == [("middle", LEFT), ("", LEFT)]


def test_table_without_a_column_that_is_needed_says_which(look):
    run = look("station,mm\nM,5\n", kind="widths")

    assert [d.why for d in run.doubts] == ["No column is taken for the strake. Choose it below."]


@pytest.mark.parametrize(
    ("text", "order", "moment"),
    [
        ("2026-03-01", "dmy", "2026-03-01T11:00:00+00:00"),
        ("1.3.2026", "dmy", "2026-03-01T11:00:00+00:00"),
        ("3/1/2026", "mdy", "2026-03-01T11:00:00+00:00"),
        ("2026-03-01 9:05", "dmy", "2026-03-01T08:05:00+00:00"),
        ("2026-03-01T09:05:30+00:00", "dmy", "2026-03-01T09:05:30+00:00"),
    ],
)
def test_moment_is_read_as_people_and_programs_write_it(text, order, moment):
    assert read_when(text, order=order, zone=ZoneInfo("Europe/Oslo")).isoformat() == moment


@pytest.mark.parametrize(
    "text", ["yesterday", "2026-13-01", "30.2.2026", "1/3/26", "45000", "0001-01-01", "2026-03-01 25:00"]
)
def test_what_is_no_date_is_refused(text):
    with pytest.raises(ValueError, match=r"."):
        read_when(text, order="dmy", zone=ZoneInfo("UTC"))


def test_date_that_lies_ahead_is_left_out(look):
    assert [d.why for d in look("strake,station,mm,date\n1,M,5.0,2027-01-01\n").doubts] == ["lies ahead"]
