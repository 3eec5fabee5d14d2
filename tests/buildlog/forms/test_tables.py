"""What a table is taken for at first sight, by the names of its columns."""

import pytest

from buildlog.forms.sheets import read_sheet
from buildlog.forms.tables import propose
from buildlog.queries.table_imports import known_for
from tests.hulls import lay_down_hull


@pytest.fixture
def see(hull):
    def look(head, *, name="", row="", build=hull.build):
        text = head + "\n" + (row or ",".join("1" for _ in head.split(","))) + "\n"
        return propose(read_sheet(text), known_for(build, "plan"), name)

    return look


@pytest.mark.parametrize(
    ("head", "name", "kind"),
    [
        ("strake,F mm,M mm", "", "widths"), ("strake,F mm,M mm", "plan of March.csv", "plan"),
        ("line,strake,F", "", "plan"), ("strake,station,width", "", "widths"), ("station,gap", "", "gaps"),
        ("station,girth mm", "", "girths"), ("side,F,M,A", "", "gaps"), ("side,F,M,A", "girths.csv", "girths"),
        ("station,mm", "", "gaps"),
    ],
)  # fmt: skip
def test_kind_is_proposed_by_columns_and_name(head, name, kind, see):
    assert see(head, name=name)["kind"] == kind


@pytest.mark.parametrize(
    ("head", "uses"),
    [
        ("Strake, STATION ,Width (mm),Date", ["strake", "station", "figure", "when"]),
        ("plank,frame,read mm,by,with", ["strake", "station", "figure", "person", "instrument"]),
        ("label,station,value,odd column,note", ["strake", "station", "figure", "", "remark"]),
        ("strake,station,planned mm,read mm,off the plan mm", ["strake", "station", "", "figure", ""]),
    ],
)
def test_columns_are_known_by_their_names(head, uses, see):
    assert see(head)["columns"] == uses


def test_stations_are_known_with_their_units_and_only_once(see, hull):
    f, m, a = hull.stations

    columns = see("strake,F mm,station M,frame A (mm),F full size in")["columns"]

    assert columns == ["strake", f"station:{f.pk}", f"station:{m.pk}", f"station:{a.pk}", ""]


def test_dead_flat_is_known_by_its_letters(see, hull):
    assert see("strake,DF,A")["columns"][1] == f"station:{hull.stations[1].pk}"


@pytest.mark.parametrize(
    ("head", "unit"),
    [("strake,M mm", "mm model"), ("strake,M in", "in model"), ("strake,M full size in", "in full"),
     ("strake,station,inches", "in model"), ("strake,M", "mm model")],
)  # fmt: skip
def test_unit_is_proposed_by_the_titles(head, unit, see):
    assert see(head)["unit"] == unit


@pytest.mark.parametrize(
    ("day", "order"), [("13/4/2026", "dmy"), ("4/13/2026", "mdy"), ("3/4/2026", "dmy"), ("2026-04-13", "dmy")]
)
def test_order_of_dates_is_told_by_a_figure_over_twelve(day, order, see):
    assert see("station,gap,date", row=f"M,5,{day}")["dates"] == order


def test_side_is_told_by_the_name_of_the_file_where_there_are_two(see, owner):
    both = lay_down_hull(owner, sides=("port", "starboard"), name="Both").build
    star = str(both.openings.get(side="starboard").pk)

    assert see("station,gap", name="gaps starboard.csv", build=both)["opening"] == star
    assert see("station,gap", name="gaps.csv", build=both)["opening"] == ""
    assert see("station,gap", name="reports.csv", build=both)["opening"] == ""
