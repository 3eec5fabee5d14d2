"""The gap wedge: at each station, what ate the gap (or gave it back), and what was measured.

Parts that eat the gap stand on one another over nought, parts that open it hang under it: what the plan itself
leaves first, then widths (blue strokes where planks came out wide, orange dots where they came out narrow), girth,
seams, what all readings weighed add, and what is left over. The line across a bar is the shortage measured; where
nobody read the gap it is a broken line, and called reckoned.
"""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from .axes import Scale, signed
from .checks import finite
from .drawing import Drawing, one_line
from .patterns import patterns, used_patterns
from .plank_labels import NAME_ROOM, short_names
from .text_widths import width_of

PARTS = ("in_plan_mm", "widths_mm", "girth_mm", "seams_mm", "weighed_mm", "left_over_mm")
SWATCH = 27.0
# No figure stands higher: its head would leave the sheet.
HIGHEST_LINE = 14.0


@dataclass(frozen=True, slots=True)
class WedgeStation:
    """The shortage at one station, mm: above zero eats the gap, below opens it; measured, reckoned or not known."""

    name: str
    widths_mm: float = 0.0
    girth_mm: float = 0.0
    seams_mm: float = 0.0
    left_over_mm: float = 0.0
    measured_mm: float | None = None
    in_plan_mm: float = 0.0
    weighed_mm: float = 0.0
    reckoned_mm: float | None = None

    def __post_init__(self):
        """Refuse parts that are not numbers."""
        for part in PARTS:
            finite(getattr(self, part), f"A part at {self.name}")
        if self.short_mm is not None:
            finite(self.short_mm, f"The shortage at {self.name}")

    @property
    def short_mm(self):
        """Return the shortage, as measured or else as reckoned."""
        return self.reckoned_mm if self.measured_mm is None else self.measured_mm

    def stacked(self):
        """Return (part, from, to) for every part that is not nought, nought outwards."""
        high = low = 0.0
        found = []
        for part in PARTS:
            value = getattr(self, part)
            if value > 0:
                found.append((part, high, high + value))
                high += value
            elif value < 0:
                found.append((part, low, low + value))
                low += value
        return found


def gap_wedge(stations, width=566, *, summary, key="gap-wedge"):
    """Return the wedge; stations run from aft to forward, the bow at the right."""
    if not stations:
        raise ValueError("A gap wedge needs one station at least.")
    return _Wedge(tuple(stations), width, f"{key}-{width}").picture(summary)


class _Wedge:
    """One wedge being drawn."""

    def __init__(self, stations, width, key):
        self.stations, self.drawing = stations, Drawing(width, key)
        self.narrow = width < 480
        values = [
            value for station in stations for _part, start, end in station.stacked() for value in (start, end)
        ]
        values += [station.short_mm for station in stations if station.short_mm is not None]
        self.scale = Scale(
            min(values, default=0), max(values, default=0), 34.0, 34.0 + (220 if self.narrow else 270)
        )
        self.left = self.scale.gutter(with_sign=False) + 12
        self.right = width - (6 if self.narrow else 62)
        self.cell = (self.right - self.left) / len(stations)
        self.bar = min(self.cell * 0.66, 70.0)

    def picture(self, summary):
        """Draw the scale, the bars, the readings and the key."""
        self.scale.draw(self.drawing, self.left, self.right, with_sign=False)
        for index, station in enumerate(self.stations):
            self._draw_bar(self._middle(index), station)
        self.scale.draw_nought(self.drawing, self.left, self.right)
        self._draw_shortages()
        height = self._draw_key(self._draw_names())
        return self.drawing.picture(
            height, summary, defs=patterns(self.drawing.key, used_patterns(self.drawing))
        )

    def _middle(self, index):
        return self.left + self.cell * (index + 0.5)

    def _draw_bar(self, middle, station):
        for part, start, end in station.stacked():
            top, bottom = sorted((self.scale.y(start), self.scale.y(end)))
            _part(self.drawing, part, end > start, middle - self.bar / 2, top, self.bar, bottom - top)

    def _draw_shortages(self):
        """Rule each shortage wider than its bar, its figure over bar and line; the largest first."""
        known = [(index, station) for index, station in enumerate(self.stations) if station.short_mm is not None]
        half = min(self.bar * 0.61, self.cell * 0.48)
        for index, station in known:
            x, y = self._middle(index), self.scale.y(station.short_mm)
            self.drawing.line("p-line-dash" if station.measured_mm is None else "p-measured", x - half, y, x + half, y)
        style = "p-find" if self.cell >= 46 else "p-label"
        for index, station in sorted(known, key=lambda item: -abs(item[1].short_mm)):
            highest = max([station.short_mm, 0.0, *(end for _part, _start, end in station.stacked())])
            figure = signed(station.short_mm).removeprefix("+")
            y = self.scale.y(highest) - 8
            for line in (y, y - 15, y - 30):
                if line >= HIGHEST_LINE and self.drawing.text_if_free(
                    f"{style} p-mid p-halo", self._middle(index), line, figure, clear=2
                ):
                    break

    def _draw_names(self):
        """Name the stations, and point to the bow; return where the line stands."""
        y = self.scale.bottom + 26
        if not self.narrow:
            self.drawing.text("p-label p-end", self.drawing.width, y, _("BOW →"), room=56)
        ends = (0, len(self.stations) - 1)
        order = sorted(
            range(len(self.stations)), key=lambda index: (index not in ends, index % 4, index % 2, index)
        )
        names = short_names([one_line(station.name) for station in self.stations], self.cell - 4)
        for index in order:
            half = min(width_of(names[index], 13.5), NAME_ROOM) / 2
            x = min(max(self._middle(index), half), self.drawing.width - half)
            self.drawing.text_if_free("p-label p-mid", x, y, names[index], room=NAME_ROOM, clear=4)
        if self.narrow:
            y += 22
            self.drawing.text("p-label p-end", self.drawing.width, y, _("BOW →"))
        return y

    def _draw_key(self, y):
        drawn = {(part, end > start) for station in self.stations for part, start, end in station.stacked()}
        entries = [
            ("in_plan_mm", None, _("in the plan")),
            ("widths_mm", True, _("widths, wide")),
            ("widths_mm", False, _("widths, narrow")),
            ("girth_mm", None, _("girth")),
            ("seams_mm", None, _("seams")),
            ("weighed_mm", None, _("all readings weighed")),
            ("left_over_mm", None, _("left over")),
        ]
        shown = [
            entry
            for entry in entries
            if any(entry[0] == part and entry[1] in (None, up) for part, up in drawn)
        ]
        if any(station.measured_mm is not None for station in self.stations):
            shown.append(("p-measured", None, _("measured")))
        if any(station.measured_mm is None and station.short_mm is not None for station in self.stations):
            shown.append(("p-line-dash", None, _("reckoned")))
        self.drawing.add('<g class="p-key">')
        x, y = 0.0, y + 30
        for part, up, words in shown:
            width = SWATCH + 7 + width_of(words, 13.5)
            if x and x + width > self.drawing.width:
                x, y = 0.0, y + 26
            if part in ("p-measured", "p-line-dash"):
                self.drawing.line(part, x, y - 4.5, x + SWATCH, y - 4.5)
            else:
                _part(self.drawing, part, up is not False, x, y - 12.5, SWATCH, 16)
            self.drawing.text("p-label", x + SWATCH + 7, y, words)
            x += width + 22
        self.drawing.add("</g>")
        return y + 10


def _part(drawing, part, eats, x, y, width, height):
    """Draw one part of a bar: its fill, its hatch and its outline."""
    hatches = {"widths_mm": "w2" if eats else "n2", "girth_mm": "girth", "in_plan_mm": "before", "weighed_mm": "doubt"}
    name = hatches.get(part, "")
    base = {"widths_mm": f"p-{name}", "seams_mm": "p-hung"}.get(part, "p-ground")
    drawing.rect(base, x, y, width, height)
    if name:
        drawing.rect("p-doubt", x, y, width, height, fill=f"hatch-{name}")
    drawing.rect("p-outline", x, y, width, height)
