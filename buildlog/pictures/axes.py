"""A plain upright scale in mm for the pictures that are graphs."""

import math

from .drawing import middle_baseline, number
from .text_widths import width_of


def signed(value, places=2):
    """Return a figure with its sign, the true minus, and none before nought."""
    text = f"{abs(value):.{places}f}"
    if float(text) == 0:
        return text
    return f"{'+' if value > 0 else '−'}{text}"


class Scale:
    """Heights for values: nice ticks that take in the lowest and highest value, and nought."""

    def __init__(self, lowest, highest, top, bottom, *, ticks=6):
        """Lay the scale between two heights of the sheet, with about so many ticks."""
        lowest, highest = min(lowest, 0.0), max(highest, 0.0)
        if highest - lowest < 1e-6:
            highest = lowest + 0.1
        rough = (highest - lowest) / ticks
        size = 10.0 ** math.floor(math.log10(rough))
        self.step = next(size * share for share in (1, 2, 5, 10) if size * share >= rough * 0.999)
        self.first = math.floor(lowest / self.step + 1e-9)
        self.last = math.ceil(highest / self.step - 1e-9)
        self.places = max(-math.floor(math.log10(self.step) + 1e-9), 0)
        self.top, self.bottom = top, bottom
        self.per_mm = (bottom - top) / ((self.last - self.first) * self.step)

    def y(self, value):
        """Return the height of a value."""
        return self.bottom - (value - self.first * self.step) * self.per_mm

    def ticks(self):
        """Return the values ruled across the picture."""
        return [index * self.step for index in range(self.first, self.last + 1)]

    def gutter(self, *, with_sign):
        """Return how wide the figures beside the scale are, px."""
        return max(width_of(self._figure(value, with_sign), 13.5) for value in self.ticks())

    def _figure(self, value, with_sign):
        if with_sign:
            return "0" if abs(value) < self.step / 2 else signed(value, self.places)
        return f"{value:.{self.places}f}".replace("-", "−")

    def draw(self, drawing, left, right, *, with_sign):
        """Rule the ticks and write their figures left of them; nought is an ink line."""
        rules = []
        for value in self.ticks():
            y = self.y(value)
            rules.append(f"M{number(left)} {number(y)}H{number(right)}")
            figure = self._figure(value, with_sign)
            drawing.text_if_free("p-label p-end", left - 9, middle_baseline(y, "p-label"), figure, clear=0)
        drawing.path("p-grid", "".join(rules))

    def draw_nought(self, drawing, left, right):
        """Rule nought in ink, over what was drawn since."""
        drawing.line("p-axis", left, self.y(0), right, self.y(0))
