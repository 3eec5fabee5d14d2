"""Habit or luck: every strake of a belt as a row of dots, one a station, with a tick at their mean.

Dots right of nought are wide, left of it narrow; the band is the limit. Luck lies on both sides of nought, a habit on
one.
"""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from .axes import Scale, signed
from .checks import finite
from .drawing import Drawing, middle_baseline
from .text_widths import width_of

ROW = 26.0


@dataclass(frozen=True, slots=True)
class StrakeDots:
    """One strake: how far it is off at each station that was read, mm."""

    label: str
    offs_mm: tuple[float, ...]

    def __post_init__(self):
        """Refuse what cannot be drawn."""
        for value in self.offs_mm:
            finite(value, f"Strake {self.label}")


def belt_dots(strakes, limit_mm, width=328, *, summary, key="belt-dots"):
    """Return the picture; strakes are given in the order they are to stand, wale side first."""
    if not strakes or not any(one.offs_mm for one in strakes):
        raise ValueError("Dots need one strake that was read.")
    drawing = Drawing(width, f"{key}-{width}")
    left = max(width_of(one.label, 13.5) for one in strakes) + 14
    # The longest mean, written beside its row, keeps its room at the right.
    right, top = width - 52.0, 34.0
    every = [value for one in strakes for value in one.offs_mm]
    scale = Scale(min([*every, -limit_mm]), max([*every, limit_mm]), 0, right - left, ticks=4 if width < 480 else 8)
    bottom = top + ROW * len(strakes) + 4

    def x(mm):
        return left + scale.bottom - scale.y(mm)

    drawing.rect("p-limit", x(-limit_mm), top, x(limit_mm) - x(-limit_mm), bottom - top)
    for value in scale.ticks():
        nought = abs(value) < scale.step / 2
        drawing.line("p-axis" if nought else "p-grid", x(value), top, x(value), bottom)
        figure = "0" if nought else signed(value, scale.places)
        drawing.text_if_free("p-label p-mid", x(value), top - 8, figure, clear=3)
    for index, one in enumerate(strakes):
        _row(drawing, one, top + ROW * (index + 0.5) + 2, x, width)
    drawing.text("p-small", 0, bottom + 20, _("a dot a station, mm off; the tick is their mean"), room=width)
    return drawing.picture(bottom + 28, summary)


def _row(drawing, one, y, x, width):
    drawing.text("p-label", 0, middle_baseline(y, "p-label"), one.label, room=60)
    for value in one.offs_mm:
        drawing.add(f'<circle class="p-point" cx="{x(value):.1f}" cy="{y:.1f}" r="3"/>')
    if one.offs_mm:
        mean = sum(one.offs_mm) / len(one.offs_mm)
        drawing.line("p-measured", x(mean), y - 9, x(mean), y + 9)
        drawing.text("p-label p-end", width, middle_baseline(y, "p-label"), signed(mean))
