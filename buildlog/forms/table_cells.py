"""One cell of a table that comes in: its length, its moment, its side; and the doubt it is put down with."""

import re
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from fractions import Fraction

from django.utils.translation import gettext as _

from buildlog.models import NM_PER_MM
from planking.lengths import PlankingError, Scale

from .lengths import SIXTY_FOURTHS, Ruler, read_typed
from .sheets import is_formula
from .tables import fold

# How a doubt weighs: the cell is left out; it is odd and waits for the builder; the log has it; it is only said.
LEFT, ODD, THERE, NOTE = "left", "odd", "there", "note"
_SIDES = {"p": "port", "s": "starboard", "stb": "starboard", "stbd": "starboard"}
_DATE = re.compile(
    r"(?:(\d{4})-(\d{1,2})-(\d{1,2})|(\d{1,2})[./-](\d{1,2})[./-](\d{4}))(?:[T ]+(\d{1,2}:\d{2}\S*))?\.?", re.ASCII
)


@dataclass(frozen=True)
class Doubt:
    row: int
    column: str
    text: str
    taken_for: str
    why: str
    weight: str = LEFT


@dataclass
class DryRun:
    """What taking the table in would come to."""

    readings: list = field(default_factory=list)
    odd: list = field(default_factory=list)
    doubts: list = field(default_factory=list)
    there: int = 0
    # For a plan: what changes; see table_plans.
    plan: object = None

    def doubt(self, row, column, text, why, *, taken_for="", weight=LEFT):
        self.there += weight == THERE
        self.doubts.append(Doubt(row, column, str(text)[:60], taken_for, why, weight))

    def spills(self, sheet, number, cells) -> bool:
        """Say of a row that has more cells than titles that it cannot be told which is which."""
        more = [cell.strip() for cell in cells[len(sheet.head) :] if cell.strip()]
        if more:
            why = _("more cells than the table has titles; a decimal comma may part one in two")
            self.doubt(number, "", more[0], why)
        return bool(more)

    def to_take(self, odd: str) -> list:
        return self.readings + (self.odd if odd == "take" else [])


def ruler_for(matches, build) -> Ruler:
    unit, _space, size = matches["unit"].partition(" ")
    scale = Scale(build.scale_num, build.scale_den) if build.scale_num else None
    return Ruler(unit=unit, size=size or "model", scale=scale)


def opening_named(name: str, known) -> int | None:
    words = fold(name)
    return known.openings.get(_SIDES.get(words, words))


def read_cell(text: str, ruler: Ruler):
    """Return the length in a cell, or the sentence that says why there is none."""
    if is_formula(text):
        return _("a formula, not a figure; paste it as a value")
    unit = ruler.unit if ruler.unit in ("mm", "in", "ft", SIXTY_FOURTHS) else "mm"
    try:
        length = read_typed(text, words=_("figure"), ruler=Ruler(unit, ruler.size, ruler.scale))
    except PlankingError as refused:
        return refused.sentence
    if length.nm < 1:
        return _("has to be more than nothing")
    return length


def read_when(text: str, *, order: str, zone) -> datetime:
    """Return a moment; ISO dates first, else day and month in ``order``. Without a time it is noon of the builder's.

    >>> from zoneinfo import ZoneInfo
    >>> read_when("3/4/2026", order="mdy", zone=ZoneInfo("UTC")).isoformat()
    '2026-03-04T12:00:00+00:00'
    """
    match = _DATE.fullmatch(text.strip())
    if not match:
        raise ValueError(text)
    if match[1]:
        year, month, day = match[1], match[2], match[3]
    else:
        day, month = (match[4], match[5]) if order == "dmy" else (match[5], match[4])
        year = match[6]
    at = time.fromisoformat(match[7].zfill(5) if len(match[7]) < 5 else match[7]) if match[7] else time(12)
    moment = datetime.combine(date(int(year), int(month), int(day)), at)
    if not 1900 <= moment.year <= 2200:
        raise ValueError(text)
    return (moment if moment.tzinfo else moment.replace(tzinfo=zone)).astimezone(UTC)


def mm_words(nm: int) -> str:
    return f"{float(Fraction(nm, NM_PER_MM)):.2f} mm"
