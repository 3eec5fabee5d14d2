"""A table as a file: comma-separated, quoted, opened by any spreadsheet and run as a formula by none.

A cell that a spreadsheet would take for a formula gets an apostrophe before it, and so does one that begins with
an apostrophe; ``forms.sheets`` takes it off again. Numbers are given as numbers and keep their sign.
"""

import csv
import io
from collections.abc import Iterable

# The mark by which spreadsheets know that a file is UTF-8.
BOM = "\ufeff"
GUARD = "'"
# What a formula, or a cell that hides one, may begin with.
LIVE = ("=", "+", "-", "@", "\t", "\r", "\n", "\0", GUARD)


def guarded(cell) -> str:
    """Return a cell as it is written: text that could be run stands behind an apostrophe."""
    if cell is None:
        return ""
    if type(cell) is not str:
        return str(cell)  # A figure, of a class of its own: it may begin with its sign.
    return GUARD + cell if cell.lstrip(" \u00a0").startswith(LIVE) else cell


def table_bytes(rows: Iterable[list], *, mark: bool = True) -> bytes:
    """Return a table as UTF-8, lines ended as RFC 4180 has them; ``mark`` puts the byte order mark first."""
    out = io.StringIO(newline="")
    write = csv.writer(out, lineterminator="\r\n").writerow
    for row in rows:
        write([guarded(cell) for cell in row])
    return ((BOM if mark else "") + out.getvalue()).encode("utf-8")
