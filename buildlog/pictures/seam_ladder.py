"""The seam-height ladder: how far each seam stands apart on the two sides, one rung a seam, one dot a station.

The rungs stand as the seams do, the wale at the top and the keel at the foot. A dot left of nought says that port
has covered more, right of it that starboard has. The band is what the eye forgives; at the ends of the hull, where
both sides are seen together, it forgives less: those dots are hollow and their limit is dotted.
"""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from .axes import Scale
from .checks import finite, one_of
from .drawing import Drawing, middle_baseline, number
from .text_widths import width_of

RUNG, RUNG_NARROW = 25.0, 23.0


@dataclass(frozen=True, slots=True)
class RungDot:
    """One seam at one station, mm: above nought where port has covered more."""

    station: str
    apart_mm: float
    at_end: bool = False
    is_seen: bool = False

    def __post_init__(self):
        """Refuse what cannot be drawn."""
        finite(self.apart_mm, f"The seam at {self.station}")


@dataclass(frozen=True, slots=True)
class Rung:
    """The seam at the inner edge of one strake, counted from its line."""

    strake: str
    run: str
    dots: tuple[RungDot, ...]

    def __post_init__(self):
        """Refuse a run that is none."""
        one_of(self.run, ("wale", "keel"), "The run")


def seam_ladder(rungs, width=566, *, limit_mm, limit_at_ends_mm, summary, key="seam-ladder"):
    """Return the ladder; rungs are given from the wale to the keel."""
    if not rungs:
        raise ValueError("A seam ladder needs one seam at least.")
    return _Ladder(tuple(rungs), width, f"{key}-{width}", limit_mm, limit_at_ends_mm).picture(summary)


class _Ladder:
    """One ladder being drawn."""

    def __init__(self, rungs, width, key, limit_mm, limit_at_ends_mm):
        self.rungs, self.drawing = rungs, Drawing(width, key)
        self.narrow = width < 480
        self.limit, self.limit_at_ends = limit_mm, limit_at_ends_mm
        farthest = max(limit_mm * 1.15, *(abs(dot.apart_mm) for rung in rungs for dot in rung.dots))
        self.left = 12 + min(60.0, max(width_of(rung.strake, 13.5) for rung in rungs))
        # The scale of heights, laid on its side: port to the left, as the sides are named.
        self.scale = Scale(-farthest, farthest, self.left + 8, width - 18.0, ticks=6)
        self.step = RUNG_NARROW if self.narrow else RUNG
        # The two runs do not touch: between them lies what is not hung or not read on both sides.
        self.top, self.between = 46.0, 26.0
        self.two_runs = len({rung.run for rung in rungs}) == 2

    def x(self, mm):
        return self.scale.y(mm)

    def picture(self, summary):
        """Draw the band, the rungs with their dots, and the words."""
        heights = self._heights()
        bottom = heights[-1] + self.step
        self._draw_ground(bottom)
        for rung, y in zip(self.rungs, heights, strict=True):
            self._draw_rung(rung, y)
        self._name_farthest(heights)
        return self.drawing.picture(self._words(bottom), summary)

    def _heights(self):
        heights, y, run = [], self.top, self.rungs[0].run
        for rung in self.rungs:
            if rung.run != run:
                y, run = y + self.between, rung.run
            y += self.step
            heights.append(y)
        return heights

    def _draw_ground(self, bottom):
        drawing, top = self.drawing, self.top
        drawing.text("p-label", 0, 18, _("■ port covers more"), room=drawing.width / 2 - 8)
        drawing.text("p-label p-end", drawing.width, 18, _("starboard ● covers more"), room=drawing.width / 2 - 8)
        drawing.rect("p-limit", self.x(self.limit), top, self.x(-self.limit) - self.x(self.limit), bottom - top)
        for mm in (self.limit_at_ends, -self.limit_at_ends):
            drawing.line("p-station", self.x(mm), top, self.x(mm), bottom)
        for value in self.scale.ticks():
            x = self.x(value)
            drawing.line("p-axis" if abs(value) < self.scale.step / 2 else "p-grid", x, top, x, bottom)
            figure = f"{abs(value):.{self.scale.places}f}" if abs(value) >= self.scale.step / 2 else "0"
            drawing.text_if_free("p-label p-mid", x, top - 6, figure, clear=3)

    def _draw_rung(self, rung, y):
        drawing = self.drawing
        drawing.text("p-label p-end", self.left - 4, middle_baseline(y, "p-label"), rung.strake, room=60)
        drawing.line("p-grid", self.left, y, drawing.width - 10, y)
        for dot in rung.dots:
            classes = "p-bare" if dot.at_end else "p-point"
            radius = 5.5 if dot.is_seen else 4
            x = self.x(dot.apart_mm)
            drawing.add(f'<circle class="{classes}" cx="{number(x)}" cy="{number(y)}" r="{radius}"/>')
            if dot.is_seen:
                drawing.add(f'<circle class="p-ring" cx="{number(x)}" cy="{number(y)}" r="9"/>')

    def _name_farthest(self, heights):
        """Name the station of what the eye sees, or else of the dot that is farthest out."""
        placed = [(dot, y) for rung, y in zip(self.rungs, heights, strict=True) for dot in rung.dots]
        seen = [one for one in placed if one[0].is_seen]
        for dot, y in sorted(seen or placed, key=lambda one: -abs(one[0].apart_mm))[: 6 if seen else 1]:
            words = f"{dot.station} {abs(dot.apart_mm):.2f}"
            outward = -1 if dot.apart_mm > 0 else 1
            for way in (outward, -outward):
                end = " p-end" if way < 0 else ""
                x = self.x(dot.apart_mm) + way * 13
                if self.drawing.text_if_free(
                    f"p-label p-halo{end}", x, middle_baseline(y, "p-label"), words, room=150, clear=1
                ):
                    break

    def _words(self, bottom):
        """Write the two lines at top and foot, and the key; return the height of the sheet."""
        drawing, y = self.drawing, bottom + 24
        where = _("seam inside the strake named; wale on top, keel at the foot")
        drawing.text("p-small", 0, y, where, room=drawing.width)
        y += 24
        drawing.add('<g class="p-key">')
        drawing.rect("p-limit", 0, y - 12, 27, 16)
        words = _("forgiven, %(limit).1f mm") % {"limit": self.limit}
        drawing.text("p-label", 34, y, words, room=drawing.width - 34)
        x = 34 + width_of(words, 13.5) + 24
        ends = _("at the ends, %(limit).1f") % {"limit": self.limit_at_ends}
        if x + 34 + width_of(ends, 13.5) > drawing.width:
            x, y = 0.0, y + 24
        drawing.add(f'<circle class="p-bare" cx="{number(x + 6)}" cy="{number(y - 5)}" r="4"/>')
        drawing.line("p-station", x + 20, y - 13, x + 20, y + 3)
        drawing.text("p-label", x + 34, y, ends, room=drawing.width - x - 34)
        drawing.add("</g>")
        return y + 10
