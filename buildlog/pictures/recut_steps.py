"""The recut before and after: the strakes of the gap at one station, as planned, as recut, and if left alone.

Strakes stand from the wale to the keel, with the hung neighbour at either end. A hollow bar is the plan, a filled
one the new width, a broken line what it would be left alone. Between neighbours stands how much they step off the
step that the plan has. Bars do not begin at nought, which is said.
"""

import math
from dataclasses import dataclass
from itertools import pairwise

from django.utils.translation import gettext as _

from .checks import finite
from .drawing import Drawing, middle_baseline, number
from .text_widths import width_of

STEP_TOLD_MM = 0.02


@dataclass(frozen=True, slots=True)
class RecutStrake:
    """One strake at the station, mm: planned, new, and left alone. One that hangs has its width as ``new_mm``."""

    label: str
    planned_mm: float
    new_mm: float
    alone_mm: float
    hangs: bool = False

    def __post_init__(self):
        """Refuse widths that cannot be drawn."""
        for value in (self.planned_mm, self.new_mm, self.alone_mm):
            if finite(value, f"A width of {self.label}") <= 0:
                raise ValueError(f"A width of {self.label} is not above nought.")


def recut_steps(strakes, width=328, *, summary, key="recut"):
    """Return the picture; strakes are given from the wale to the keel."""
    if not strakes:
        raise ValueError("A recut needs one strake at least.")
    return _Recut(tuple(strakes), width, f"{key}-{width}").picture(summary)


def step_off_plan(wale, keel, *, alone=False) -> float:
    """Return how much two neighbours differ beyond what the plan has them differ, mm."""
    ends = [(s.alone_mm if alone else s.new_mm) - s.planned_mm for s in (wale, keel)]
    return abs(ends[0] - ends[1])


class _Recut:
    """One picture being drawn."""

    def __init__(self, strakes, width, key):
        self.strakes, self.drawing = strakes, Drawing(width, key)
        self.narrow = width < 480
        every = [mm for s in strakes for mm in (s.planned_mm, s.new_mm, s.alone_mm)]
        reach = max(every) - min(every)
        tick = next((tick for tick in (0.1, 0.2, 0.5, 1.0) if reach <= 6 * tick), 2.0)
        self.base = max(0.0, math.floor(min(every) / tick - 1.001) * tick)
        self.high = math.ceil(max(every) / tick + 0.2) * tick
        self.tick = tick
        self.left = width_of("0.00", 13.5) + 12
        self.column = (width - self.left - 2) / len(strakes)
        self.top, self.bottom = self._key(20.0), 0.0
        self.bottom = self.top + (190 if self.narrow else 230)

    def picture(self, summary):
        """Draw the scale, the bars, the steps between them, and their names."""
        self._scale()
        for index, strake in enumerate(self.strakes):
            self._bars(strake, self.left + self.column * index)
        for index, (wale, keel) in enumerate(pairwise(self.strakes)):
            self._step(wale, keel, self.left + self.column * (index + 1))
        return self.drawing.picture(self._names(), summary)

    def _y(self, mm):
        return self.bottom - (mm - self.base) / (self.high - self.base) * (self.bottom - self.top)

    def _key(self, y):
        """Write what each outline means; return where the plot may begin."""
        x = 0.0
        for classes, words in (("p-outline", _("plan")), ("p-bar", _("recut")), ("p-line-dash", _("left alone"))):
            need = 34 + width_of(words, 13.5) + 20
            if x and x + need > self.drawing.width:
                x, y = 0.0, y + 24
            if classes == "p-line-dash":
                self.drawing.line(classes, x, y - 4.5, x + 27, y - 4.5)
            else:
                self.drawing.rect(classes, x + 1, y - 12, 25, 14)
            self.drawing.text("p-label", x + 34, y, words)
            x += need
        return y + 30

    def _scale(self):
        mm = self.base
        while mm <= self.high + 1e-9:
            y = self._y(mm)
            self.drawing.line("p-grid", self.left, y, self.drawing.width, y)
            self.drawing.text_if_free("p-label p-end", self.left - 8, middle_baseline(y, "p-label"), f"{mm:.2f}")
            mm += self.tick
        self.drawing.line("p-axis", self.left, self.bottom, self.drawing.width, self.bottom)

    def _bars(self, strake, x):
        inset = min(self.column * 0.16, 16.0)
        left, wide = x + inset, self.column - 2 * inset
        self.drawing.rect("p-hung" if strake.hangs else "p-bar", left, self._y(strake.new_mm), wide,
                          self.bottom - self._y(strake.new_mm))  # fmt: skip
        plan = self._y(strake.planned_mm)
        self.drawing.rect("p-outline", left - 4, plan, wide + 8, self.bottom - plan)
        if not strake.hangs:
            alone = number(self._y(strake.alone_mm))
            self.drawing.path("p-line-dash", f"M{number(left - 6)} {alone}H{number(left + wide + 6)}")

    def _step(self, wale, keel, x):
        """Write the step of two neighbours over the line between them, where it is worth a word."""
        off = step_off_plan(wale, keel)
        if off <= STEP_TOLD_MM:
            return
        ends = sorted((self._y(wale.new_mm), self._y(keel.new_mm)))
        if ends[1] - ends[0] > 8:
            a, b = number(ends[0]), number(ends[1])
            tips = f"M{number(x - 3)} {number(ends[0] + 4)}L{number(x)} {a}L{number(x + 3)} {number(ends[0] + 4)}"
            tips += f"M{number(x - 3)} {number(ends[1] - 4)}L{number(x)} {b}L{number(x + 3)} {number(ends[1] - 4)}"
            self.drawing.path("p-arrow", f"M{number(x)} {a}V{b}{tips}")
        self.drawing.text_if_free("p-label p-mid p-halo", x, self.top - 6, f"{off:.2f}", clear=1)

    def _names(self):
        """Name the strakes and their new widths under their bars; return the height of the sheet."""
        y = self.bottom + 18
        for index, strake in enumerate(self.strakes):
            x = self.left + self.column * (index + 0.5)
            self.drawing.text("p-label p-mid", x, y, strake.label, room=self.column - 4)
            figure = f"{strake.new_mm:.2f}"
            self.drawing.text("p-small p-mid", x, y + 18, figure, room=self.column)
        words = _("over the bars: steps off the plan, mm; bars from %(base)s up") % {"base": f"{self.base:.2f}"}
        self.drawing.text("p-small", 0, y + 40, words, room=self.drawing.width)
        return y + 48
