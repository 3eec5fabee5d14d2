"""Marks over a photograph, drawn for each rendition: numbers in white discs with a leader to the thing, arrows, rings.

The photograph itself is never drawn on. Places are shares of its width and height.
"""

import math
from dataclasses import dataclass

from .checks import finite
from .drawing import Drawing, number

# A disc is 26 px across as shown at least, so each cut is drawn for the narrowest place that shows it: a phone of
# 320 px, and the widths from which the style sheet shows the next cut. Wider places only make a disc larger.
SHOWN = (280, 500, 680)
DISC = 13.0
RING = 24.0
BARB = 13.0
KINDS = ("number", "arrow", "ring")


@dataclass(frozen=True, slots=True)
class PhotoMark:
    """One mark: its number, where its disc or its shaft stands, what it points at, and how it is drawn."""

    n: int
    x: float
    y: float
    to_x: float
    to_y: float
    kind: str = "number"

    def __post_init__(self):
        """Refuse a place that lies outside the photograph, and a kind that nobody can draw."""
        if self.kind not in KINDS:
            raise ValueError(f"Mark {self.n} is of no kind that can be drawn.")
        for value in (self.x, self.y, self.to_x, self.to_y):
            if not 0 <= finite(value, f"The place of mark {self.n}") <= 1:
                raise ValueError(f"Mark {self.n} lies outside the photograph.")


def photo_marks(marks, width, height, *, shown, summary, key="photo-marks"):
    """Return the marks as one drawing to lie over a photograph of this shape, ``shown`` px wide."""
    if width <= 0 or height <= 0:
        raise ValueError("A photograph has a width and a height.")
    tall = shown * height / width
    drawing = Drawing(shown, f"{key}-{shown}")
    for mark in marks:
        line = _line(mark, shown, tall)
        drawing.path("p-leader-edge", line)
        drawing.path("p-leader", line)
    for mark in marks:
        if mark.kind != "number":
            continue
        x, y = mark.x * shown, mark.y * tall
        drawing.add(f'<circle class="p-disc" cx="{number(x)}" cy="{number(y)}" r="{number(DISC)}"/>')
        drawing.text("p-label p-mid p-disc-n", x, y + 5.2, str(mark.n))
    return drawing.picture(tall, summary, classes="p-photo-marks", sized=False)


def _line(mark, wide, tall):
    """Return the path of a leader, of an arrow with its barbs, or of a ring round the thing."""
    x, y, to_x, to_y = mark.x * wide, mark.y * tall, mark.to_x * wide, mark.to_y * tall
    if mark.kind == "ring":
        left, arc = number(to_x - RING), f"a{number(RING)} {number(RING)} 0 1 0"
        return f"M{left} {number(to_y)}{arc} {number(2 * RING)} 0{arc} {number(-2 * RING)} 0"
    line = f"M{number(x)} {number(y)}L{number(to_x)} {number(to_y)}"
    if mark.kind == "arrow":
        way = math.atan2(to_y - y, to_x - x)
        for lean in (2.6, -2.6):
            end = (to_x + BARB * math.cos(way + lean), to_y + BARB * math.sin(way + lean))
            line += f"M{number(to_x)} {number(to_y)}L{number(end[0])} {number(end[1])}"
    return line
