"""The butterfly: how far off its width each strake was cut, port to the left and starboard to the right.

A bar's length says how far, whichever way; its fill and its sign say wide (blue strokes) or narrow (orange dots).
A line joins the two where the sides are cut further apart than the limit.
"""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from .axes import Scale, signed
from .checks import finite
from .drawing import Drawing, middle_baseline
from .patterns import patterns, used_patterns
from .text_widths import width_of

ROW, ROW_NARROW, BAR = 25.0, 24.0, 15.0


@dataclass(frozen=True, slots=True)
class Wings:
    """One strake on the two sides: the mean of its widths off the plan, mm; None where it was not read."""

    strake: str
    port_mm: float | None
    starboard_mm: float | None
    joined: bool = False

    def __post_init__(self):
        """Refuse what cannot be drawn."""
        for value in (self.port_mm, self.starboard_mm):
            if value is not None:
                finite(value, f"Strake {self.strake}")


def butterfly(wings, width=566, *, summary, key="butterfly"):
    """Return the butterfly; strakes are given from the wale to the keel."""
    if not wings:
        raise ValueError("A butterfly needs one strake at least.")
    return _Butterfly(tuple(wings), width, f"{key}-{width}").picture(summary)


class _Butterfly:
    """One butterfly being drawn."""

    def __init__(self, wings, width, key):
        self.wings, self.drawing = wings, Drawing(width, key)
        self.narrow = width < 480
        self.row = ROW_NARROW if self.narrow else ROW
        body = 8 + min(44.0, max(width_of(one.strake, 13.5) for one in wings))
        self.inner = {"port": (width - body) / 2, "starboard": (width + body) / 2}
        read = [abs(v) for one in wings for v in (one.port_mm, one.starboard_mm) if v is not None]
        # The figure at a bar's end, and its side's sign, keep their room beyond the longest bar.
        reach = self.inner["port"] - 66
        self.scale = Scale(0, max([*read, 0.02]), 0, reach, ticks=2 if self.narrow else 3)
        self.top = 50.0

    def picture(self, summary):
        """Draw the scale on both sides, the bars, and the key."""
        bottom = self.top + self.row * len(self.wings) + 4
        self._draw_ground(bottom)
        for index, one in enumerate(self.wings):
            self._draw_row(one, self.top + self.row * (index + 0.5) + 2)
        height = self._draw_key(bottom + 26)
        return self.drawing.picture(height, summary, defs=patterns(self.drawing.key, used_patterns(self.drawing)))

    def _x(self, side, mm):
        length = self.scale.bottom - self.scale.y(mm)
        return self.inner[side] - length if side == "port" else self.inner[side] + length

    def _draw_ground(self, bottom):
        half = self.drawing.width / 2 - 8
        self.drawing.text("p-label", 0, 18, _("■ PORT"), room=half)
        # The round sign may come from a font with wider signs than ours.
        self.drawing.text("p-label p-end", self.drawing.width - 8, 18, _("STARBOARD ●"), room=half - 8)
        for side in self.inner:
            for value in self.scale.ticks():
                x = self._x(side, value)
                self.drawing.line("p-grid" if value else "p-axis", x, self.top, x, bottom)
                figure = f"{value:.{self.scale.places}f}" if value else "0"
                self.drawing.text_if_free("p-label p-mid", x, self.top - 6, figure, clear=3)

    def _draw_row(self, one, y):
        drawing = self.drawing
        drawing.text("p-label p-mid", drawing.width / 2, middle_baseline(y, "p-label"), one.strake, room=44)
        for side, mm in (("port", one.port_mm), ("starboard", one.starboard_mm)):
            if mm is not None:
                self._draw_bar(side, mm, y)
        if one.joined and one.port_mm is not None and one.starboard_mm is not None:
            left, right = self._x("port", abs(one.port_mm)), self._x("starboard", abs(one.starboard_mm))
            drawing.line("p-line-dash", left, y + BAR / 2 + 2, right, y + BAR / 2 + 2)

    def _draw_bar(self, side, mm, y):
        drawing = self.drawing
        start, end = sorted((self.inner[side], self._x(side, abs(mm))))
        _bar(drawing, mm > 0, start, y - BAR / 2, end - start)
        sign = "■" if side == "port" else "●"
        words = f"{signed(mm)} {sign}" if side == "port" else f"{sign} {signed(mm)}"
        x, end_class = (start - 5, " p-end") if side == "port" else (end + 5, "")
        drawing.text(f"p-label p-halo{end_class}", x, middle_baseline(y, "p-label"), words)

    def _draw_key(self, y):
        drawing = self.drawing
        entries = [(True, _("cut wide, mm")), (False, _("cut narrow"))]
        drawing.add('<g class="p-key">')
        x = 0.0
        for wide, words in entries:
            _bar(drawing, wide, x, y - 12, 27)
            drawing.text("p-label", x + 34, y, words)
            x += 34 + width_of(words, 13.5) + 22
        if any(one.joined for one in self.wings):
            words = _("sides apart by over the limit")
            if x + 34 + width_of(words, 13.5) > drawing.width:
                x, y = 0.0, y + 24
            drawing.line("p-line-dash", x, y - 4.5, x + 27, y - 4.5)
            drawing.text("p-label", x + 34, y, words, room=drawing.width - x - 34)
        drawing.add("</g>")
        return y + 12


def _bar(drawing, wide, x, y, width):
    name = "w2" if wide else "n2"
    drawing.rect(f"p-{name}", x, y, width, BAR)
    drawing.rect("p-doubt", x, y, width, BAR, fill=f"hatch-{name}")
    drawing.rect("p-outline", x, y, width, BAR)
