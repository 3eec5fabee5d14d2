"""The zero of one instrument over time: a tick a check, a cross where it may have moved, hatching where it is in doubt.

Dates run from left to right; a check stands as high as the instrument read with its jaws shut. Beneath lie the
sessions in which something was read with it, as small bars. What was read under the hatching is in doubt.
"""

from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from .axes import Scale, signed
from .checks import finite
from .drawing import Drawing, number
from .patterns import patterns, used_patterns
from .text_widths import width_of


@dataclass(frozen=True, slots=True)
class Check:
    """One zero check: the day, and what the instrument read shut, mm."""

    day: date
    offset_mm: float

    def __post_init__(self):
        """Refuse an offset that cannot be drawn."""
        finite(self.offset_mm, "The zero check")


@dataclass(frozen=True, slots=True)
class InstrumentLine:
    """All that is drawn; ``doubts`` are spans of days, the last one open (None) where the doubt still stands."""

    first: date
    last: date
    checks: tuple[Check, ...] = ()
    moved: tuple[date, ...] = ()
    doubts: tuple[tuple[date, date | None], ...] = ()
    sessions: tuple[date, ...] = ()
    within_mm: float = 0.02

    def __post_init__(self):
        """Refuse time that runs backwards."""
        if self.last < self.first:
            raise ValueError("The last day lies before the first.")


def instrument_line(line, width=328, *, summary, key="instrument"):
    """Return the picture, 328 wide for a phone, more for a desk."""
    return _Line(line, width, f"{key}-{width}").picture(summary)


class _Line:
    """One picture being drawn."""

    def __init__(self, line, width, key):
        self.line, self.drawing = line, Drawing(width, key)
        offsets = [check.offset_mm for check in line.checks]
        highest, lowest = max([line.within_mm * 2, *offsets]), min([-line.within_mm * 2, *offsets])
        self.scale = Scale(lowest * 1.15, highest * 1.15, 66.0, 190.0, ticks=4)
        self.left = self.scale.gutter(with_sign=True) + 14
        self.right = width - 12.0
        self.days = max((line.last - line.first).days, 1)

    def picture(self, summary):
        """Draw the ground, the doubt, the checks and the sessions, then name them."""
        scale, drawing = self.scale, self.drawing
        top, bottom = scale.y(self.line.within_mm), scale.y(-self.line.within_mm)
        drawing.rect("p-limit", self.left, top, self.right - self.left, bottom - top)
        self._draw_doubts()
        scale.draw(drawing, self.left, self.right, with_sign=True)
        scale.draw_nought(drawing, self.left, self.right)
        for day in self.line.moved:
            x, y = self._x(day), scale.y(0)
            drawing.path("p-arrow", f"M{number(x - 6)} {number(y - 6)}l12 12M{number(x + 6)} {number(y - 6)}l-12 12")
        for check in self.line.checks:
            self._draw_check(check)
        for day in self.line.sessions:
            drawing.rect("p-dot", self._x(day) - 1, scale.bottom + 14, 2, 12)
        self._key()
        height = self._dates()
        return drawing.picture(height, summary, defs=patterns(drawing.key, used_patterns(drawing)))

    def _x(self, day):
        return self.left + (self.right - self.left) * (day - self.line.first).days / self.days

    def _draw_doubts(self):
        for start, end in self.line.doubts:
            left, right = self._x(start), self._x(end or self.line.last)
            box = (left, self.scale.top, max(right - left, 3), self.scale.bottom + 28 - self.scale.top)
            self.drawing.rect("p-doubt", *box, fill="hatch-doubt")
            self.drawing.rect("p-stroke", *box)

    def _draw_check(self, check):
        x, y = self._x(check.day), self.scale.y(check.offset_mm)
        self.drawing.path("p-measured", f"M{number(x - 6)} {number(y)}h12")
        end = " p-end" if x > self.drawing.width * 0.8 else ""
        self.drawing.text_if_free(
            f"p-label p-halo{end}", x - 10 if end else x + 10, y - 6, signed(check.offset_mm), clear=1
        )

    def _key(self):
        """Name the marks, in as many rows as the width asks for."""
        x, y = 0.0, 16.0
        entries = (("check", _("zero check, mm")), ("moved", _("may have moved")), ("doubt", _("in doubt")))
        for mark, words in entries:
            need = 26 + width_of(words, 13.5) + 18
            if x and x + need > self.drawing.width:
                x, y = 0.0, y + 22
            if mark == "check":
                self.drawing.path("p-measured", f"M{number(x + 3)} {number(y - 4.5)}h14")
            elif mark == "moved":
                self.drawing.path(
                    "p-arrow", f"M{number(x + 4)} {number(y - 10)}l11 11M{number(x + 15)} {number(y - 10)}l-11 11"
                )
            else:
                self.drawing.rect("p-doubt", x, y - 11, 20, 13, fill="hatch-doubt")
                self.drawing.rect("p-stroke", x, y - 11, 20, 13)
            self.drawing.text("p-label", x + 26, y, words)
            x += need

    def _dates(self):
        """Write the first and last day, and what the small bars are; return the height of the sheet."""
        y = self.scale.bottom + 44
        self.drawing.text("p-small", self.left, y, _day(self.line.first))
        self.drawing.text_if_free("p-small p-end", self.right, y, _day(self.line.last), clear=4)
        self.drawing.text("p-small", self.left, y + 18, _("small bars: days on which it was read with"))
        return y + 26


def _day(day) -> str:
    return f"{day.day} {day:%b} {day.year}"
