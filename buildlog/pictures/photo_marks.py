"""Numbered marks over a photograph: white discs with an ink ring, a leader to the thing, drawn for each rendition.

The photograph itself is never drawn on. Places are shares of its width and height.
"""

from dataclasses import dataclass

from .checks import finite
from .drawing import Drawing, number

# A disc is 26 px across as shown at least, so each cut is drawn for the narrowest place that shows it: a phone of
# 320 px, and the widths from which the style sheet shows the next cut. Wider places only make a disc larger.
SHOWN = (280, 500, 680)
DISC = 13.0


@dataclass(frozen=True, slots=True)
class PhotoMark:
    """One mark: its number, where its disc stands, and what it points at."""

    n: int
    x: float
    y: float
    to_x: float
    to_y: float

    def __post_init__(self):
        """Refuse a place that lies outside the photograph."""
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
        at, to = (mark.x * shown, mark.y * tall), (mark.to_x * shown, mark.to_y * tall)
        line = f"M{number(at[0])} {number(at[1])}L{number(to[0])} {number(to[1])}"
        drawing.path("p-leader-edge", line)
        drawing.path("p-leader", line)
    for mark in marks:
        x, y = mark.x * shown, mark.y * tall
        drawing.add(f'<circle class="p-disc" cx="{number(x)}" cy="{number(y)}" r="{number(DISC)}"/>')
        drawing.text("p-label p-mid p-disc-n", x, y + 5.2, str(mark.n))
    return drawing.picture(tall, summary, classes="p-photo-marks", sized=False)
