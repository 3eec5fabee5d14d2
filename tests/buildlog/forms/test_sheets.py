"""Files that come as tables, and files that do not: each gives its rows or one sentence, never a traceback."""

import io
import zipfile

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from buildlog.archive.tables import table_bytes
from buildlog.forms.sheets import MOST_BYTES, NoTable, is_formula, read_sheet, text_of

TABLE = "strake;station;read mm\r\n18;⊗;4,41\r\n5a;Ø;4,3\r\n"


def book() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as file:
        file.writestr("xl/workbook.xml", "<workbook/>")
    return out.getvalue()


@pytest.mark.parametrize(
    "data",
    [
        TABLE.encode("utf-8"),
        TABLE.encode("utf-8-sig"),
        TABLE.encode("utf-16"),
        TABLE.encode("utf-16-le"),
        TABLE.encode("utf-16-be"),
    ],
    ids=["utf-8", "utf-8 with mark", "utf-16 with mark", "utf-16-le", "utf-16-be"],
)
def test_table_is_read_in_every_encoding_of_a_spreadsheet(data):
    sheet = read_sheet(text_of(data))

    assert sheet.head == ["strake", "station", "read mm"]
    assert sheet.rows == [(2, ["18", "⊗", "4,41"]), (3, ["5a", "Ø", "4,3"])]


def test_table_of_windows_1252_keeps_its_letters():
    sheet = read_sheet(text_of("who,mm\nJosé Müller,4.41\n".encode("cp1252")))

    assert sheet.rows == [(2, ["José Müller", "4.41"])]


@pytest.mark.parametrize("sign", [",", ";", "\t"])
def test_delimiter_is_found_out(sign):
    text = "\n".join(sign.join(row) for row in (["strake", "F", "M"], ["1", "4.5", "4.4"], ["2", "", "4.2"]))

    sheet = read_sheet(text)

    assert (sheet.delimiter, sheet.head, len(sheet.rows)) == (sign, ["strake", "F", "M"], 2)


def test_decimal_commas_do_not_part_cells_where_semicolons_do():
    assert read_sheet("strake;F;M\n1;4,5;4,4\n2;4,5;4,25\n").rows[0] == (2, ["1", "4,5", "4,4"])


def test_first_line_may_name_the_delimiter():
    assert read_sheet("sep=;\nstrake;F\n1;4,5\n").head == ["strake", "F"]


def test_lines_above_the_head_and_blank_rows_are_passed_over():
    sheet = read_sheet("Widths of the port side\n\nstrake,F\n\n,\n1,4.5\n")

    assert sheet.head == ["strake", "F"]
    assert sheet.rows == [(6, ["1", "4.5"])]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "is empty"),
        (b" \r\n\t\n", "is empty"),
        (b"\xef\xbb\xbf", "is empty"),
        (b"\xff\xfe", "cannot be read|nothing|empty"),
        (b"\0\0\0\0", "is empty"),
        (book(), "not a CSV"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "not a CSV"),
        (b"%PDF-1.7\n%\xe2", "not a CSV"),
        (b"\x89PNG\r\n\x1a\n\0\0", "not a CSV"),
        (b"SQLite format 3\0", "not a CSV"),
        (bytes(range(256)) * 20, "signs that no table has|cannot be read"),
        (b"a,b\n1,\0\n", "signs that no table has"),
        (b"a,b\n\x81\x8d,\x90\n", "letters cannot be read"),
        (b"x" * (MOST_BYTES + 1), "larger than 5 MB"),
        (b"widths\n4.41\n4.42\n", "only one column"),
        (b"strake,station,mm\n", "one row only"),
        (b'a,b\n"1,2\n3,4\n', "quotation mark"),
        (b'a,b\n"1"2,3\n', "quotation mark"),
        (b"\n".join([b"a,b"] + [b"1,2"] * 20_001), "20,000 rows"),
        (b",".join([b"a"] * 121) + b"\n1,2\n", "120 columns"),
        (b"a,b\n" + b"x" * 3000 + b",1\n", "2,000 letters"),
        (b"a,b\n" + b"x" * 200_000 + b",1\n", "quotation mark|letters"),
        (b"<!doctype html><html><body>no</body></html>", "only one column"),
        (b'{"a": 1}', "only one column"),
        (b",,,\n,,,\n", "nothing in this table"),
    ],
)
def test_file_from_elsewhere_gives_one_sentence(data, said):
    with pytest.raises(NoTable, match=said) as refused:
        read_sheet(text_of(data))

    assert str(refused.value).endswith(".")


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=400))
def test_no_bytes_break_the_reading(data):
    try:
        sheet = read_sheet(text_of(data))
    except NoTable:
        return
    assert sheet.head
    assert sheet.rows


CELLS = st.text(
    st.characters(codec="utf-8", exclude_categories=("Cs", "Cc"), include_characters="\t"), min_size=0, max_size=12
)


@settings(max_examples=200, deadline=None)
@given(
    st.lists(
        st.lists(
            st.one_of(CELLS, st.sampled_from(["=1+1", "'=x", "'", "-4.41", "@a", "\t=1"])), min_size=3, max_size=3
        ),
        min_size=1,
        max_size=6,
    )
)
def test_cells_written_by_our_tables_come_back_unchanged(rows):
    table = [["name", "strake", "station", "remark"], *[["x", *row] for row in rows]]

    sheet = read_sheet(table_bytes(table, mark=False).decode())

    assert [cells[1:] for _number, cells in sheet.rows] == rows


@pytest.mark.parametrize("cell", ["=4.41", "=A1*2", " =1", "@A1", "+4.41+1", "=cmd|' /C calc'!A0"])
def test_formula_is_known(cell):
    assert is_formula(cell)


@pytest.mark.parametrize("cell", ["4.41", "4,41", "3 1/4", "9'4\"", "-4.41", ""])
def test_figure_is_no_formula(cell):
    assert not is_formula(cell)
