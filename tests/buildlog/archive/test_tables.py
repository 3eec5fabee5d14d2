"""Cells of a table: what a spreadsheet might run stands behind an apostrophe, numbers stay numbers."""

import csv
import io

import pytest

from buildlog.archive.tables import BOM, guarded, table_bytes
from buildlog.queries.tables import Figure

# Starts a spreadsheet takes for a formula (OWASP, "CSV Injection"), and blanks it passes over on the way.
LIVE = [
    "=1+1", "+1+1", "-1+1", "@SUM(A1)", "\t=1+1", "\r=1+1", "\n=1", "=cmd|' /C calc'!A0", "  =1+1", "\u00a0=1",
    "-", "=", "@", "'=1", "'",
]  # fmt: skip


@pytest.mark.parametrize("text", LIVE)
def test_cell_that_could_run_stands_behind_an_apostrophe(text):
    [[cell]] = list(csv.reader(io.StringIO(table_bytes([[text]]).decode("utf-8-sig"), newline="")))

    assert cell == "'" + text


@pytest.mark.parametrize("text", ["18", "5a", "", "garboard", "3 = 4", "Ø, ⊗ and Ж", 'a "quoted" name'])
def test_plain_text_is_written_as_it_is(text):
    assert guarded(text) == text


def test_figure_keeps_its_sign_and_stays_a_number():
    assert table_bytes([[Figure("-0.05"), 7, None, "-0.05"]], mark=False) == b"-0.05,7,,'-0.05\r\n"


def test_mark_of_utf_8_is_a_choice():
    assert table_bytes([["a"]]).startswith(BOM.encode())
    assert table_bytes([["a"]], mark=False) == b"a\r\n"
