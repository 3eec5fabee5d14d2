"""A file or pasted text -> the rows of a table, however it was written; or one sentence why it is none.

Nothing in it is run. A formula stays the text it is, and is no number.
"""

import csv
import io
from collections import Counter
from dataclasses import dataclass

from django.utils.translation import gettext as _

MOST_BYTES = 5_000_000
MOST_ROWS = 20_000
MOST_COLUMNS = 120
MOST_CELLS = 400_000
MOST_LETTERS = 2_000
_GUARD = "'"
_LIVE = ("=", "+", "-", "@", "\t", "\r", "\n", "\0", _GUARD)
_DELIMITERS = (",", ";", "\t")
_BOOKS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"%PDF", b"\x89PNG", b"\xff\xd8\xff", b"\x1f\x8b", b"SQLite format")


class NoTable(Exception):
    """What was sent is no table; the sentence says what it may be and what would help."""


@dataclass(frozen=True)
class Sheet:
    """``head`` is the row of titles; ``rows`` are (number in the file, cells), blank ones left out."""

    delimiter: str
    head: list[str]
    rows: list[tuple[int, list[str]]]


def text_of(data: bytes) -> str:
    """Return the text of a file: UTF-8, UTF-16 or Windows-1252, by its mark or by what it holds."""
    if len(data) > MOST_BYTES:
        raise NoTable(_("This file is larger than 5 MB; a table of 20,000 rows is smaller. Send it in parts."))
    if not data.strip(b" \t\r\n\0\xef\xbb\xbf"):
        raise NoTable(_("This file is empty."))
    if data.startswith(_BOOKS):
        raise NoTable(_("This is not a CSV file. In the spreadsheet choose Save as, then CSV, and send that."))
    text = _decoded(data)
    if "\0" in text or sum(ord(sign) < 32 and sign not in "\t\r\n\f" for sign in text[:20_000]) > 2:
        raise NoTable(_("This file holds signs that no table has. In the spreadsheet choose Save as, then CSV."))
    return text


def _decoded(data: bytes) -> str:
    for name in _encodings(data):
        try:
            return data.decode(name).removeprefix("\ufeff")
        except UnicodeDecodeError:
            continue
    raise NoTable(_("This file's letters cannot be read. Save it as CSV in UTF-8 and send it again."))


def _encodings(data: bytes) -> list[str]:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return ["utf-16"]
    start = data[:4000]
    even, odd = start[0::2].count(0), start[1::2].count(0)
    if max(even, odd) * 3 > len(start) / 2:
        return ["utf-16-le" if odd > even else "utf-16-be"]
    return ["utf-8-sig", "cp1252"]


def read_sheet(text: str) -> Sheet:
    """Return the table in a text, its delimiter found out; the first row of two cells or more is its head."""
    named = text.split("\n", 1)[0].strip().lower()
    if named.startswith("sep=") and len(named) == 5:
        text, tried = text.split("\n", 1)[-1], (named[4],)
    else:
        tried = (_likeliest(text),)
    rows = _rows(text, tried[0])
    filled = [(number, cells) for number, cells in rows if any(cell.strip() for cell in cells)]
    if not filled:
        raise NoTable(_("There is nothing in this table."))
    at = next((i for i, (_number, cells) in enumerate(filled) if sum(bool(c.strip()) for c in cells) > 1), None)
    if at is None:
        raise NoTable(
            _("This table has only one column. Cells are parted by commas, semicolons or tabs, and the first row "
              "names the columns.")
        )  # fmt: skip
    if at == len(filled) - 1:
        raise NoTable(_("This table has one row only, the names of its columns, and no figures."))
    head = [unguarded(cell).strip() for cell in filled[at][1]]
    return Sheet(tried[0], head, [(n, [unguarded(c) for c in cells]) for n, cells in filled[at + 1 :]])


def unguarded(cell: str) -> str:
    """Take off the apostrophe that our own tables put before text that a spreadsheet might run."""
    if cell.startswith(_GUARD) and cell[1:].lstrip(" \u00a0").startswith(_LIVE):
        return cell[1:]
    return cell


def is_formula(cell: str) -> bool:
    return cell.strip().startswith(("=", "@", "+"))


def _likeliest(text: str) -> str:
    """Return the sign that parts the most rows of the beginning into as many cells, more than one."""
    start = text[:20_000].splitlines()[:60]

    def points(delimiter):
        counts = Counter()
        try:
            counts.update(len(row) for row in csv.reader(start, delimiter=delimiter) if row)
        except csv.Error:
            return (0, 0)
        several = {cells: n for cells, n in counts.items() if cells > 1}
        best = max(several, key=lambda cells: (several[cells], cells), default=0)
        return (several.get(best, 0), best)

    return max(_DELIMITERS, key=points)


def _rows(text: str, delimiter: str) -> list[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    rows, cells = [], 0
    try:
        for row in reader:
            cells += len(row)
            _refuse_too_much(len(rows), row, cells)
            rows.append((reader.line_num, row))
    except csv.Error:
        raise NoTable(
            _("Line %(line)d: a quotation mark is opened and not closed, or stands where none can be.")
            % {"line": max(reader.line_num, 1)}
        ) from None
    return rows


def _refuse_too_much(count: int, row: list[str], cells: int) -> None:
    if count > MOST_ROWS:
        raise NoTable(_("This table has more than 20,000 rows. Send it in parts."))
    if len(row) > MOST_COLUMNS:
        raise NoTable(_("This table has more than 120 columns. Leave out those that are not wanted."))
    if cells > MOST_CELLS:
        raise NoTable(_("This table has more than 400,000 cells. Send it in parts."))
    if any(len(cell) > MOST_LETTERS for cell in row):
        raise NoTable(_("A cell of this table is longer than 2,000 letters; a quotation mark may not be closed."))
