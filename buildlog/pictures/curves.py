"""Smooth lines through measured places that never swing past a reading.

Monotone cubic pieces (Fritsch and Butland's slopes, SIAM J. Sci. Stat. Comput. 5, 1984; the ends by the
three-point rule of Fritsch and Carlson): where widths fall from station to station the drawn line falls too.
"""

from bisect import bisect_right
from itertools import pairwise

from .drawing import number


def slopes(xs, ys):
    """Return the slope of the monotone cubic at each place."""
    count = len(xs)
    if count < 2:
        return [0.0] * count
    steps = [after - before for before, after in pairwise(xs)]
    rises = [(after - before) / step for (before, after), step in zip(pairwise(ys), steps, strict=True)]
    if count == 2:
        return [rises[0], rises[0]]
    inner = [_inner_slope(steps[i - 1], steps[i], rises[i - 1], rises[i]) for i in range(1, count - 1)]
    first = _end_slope(steps[0], steps[1], rises[0], rises[1])
    last = _end_slope(steps[-1], steps[-2], rises[-1], rises[-2])
    return [first, *inner, last]


def _inner_slope(step_before, step_after, rise_before, rise_after):
    """Return the weighted harmonic mean of two rises, or level where the line turns."""
    if rise_before * rise_after <= 0:
        return 0.0
    weight_before = 2 * step_after + step_before
    weight_after = step_after + 2 * step_before
    return (weight_before + weight_after) / (weight_before / rise_before + weight_after / rise_after)


def _end_slope(step, next_step, rise, next_rise):
    slope = ((2 * step + next_step) * rise - step * next_rise) / (step + next_step)
    if slope * rise <= 0:
        return 0.0
    if rise * next_rise <= 0 and abs(slope) > 3 * abs(rise):
        return 3 * rise
    return slope


class Curve:
    """A smooth line y over x; curves on the same places may be added and halved."""

    __slots__ = ("slopes", "xs", "ys")

    def __init__(self, xs, ys, slopes_given=None):
        """Lay a curve through the places; slopes may be given where they are already known."""
        self.xs, self.ys = xs, ys
        self.slopes = slopes(xs, ys) if slopes_given is None else slopes_given

    def at(self, x):
        """Return (y, slope) at a place; beyond the ends the curve goes on level."""
        xs = self.xs
        if x <= xs[0]:
            return self.ys[0], self.slopes[0]
        if x >= xs[-1]:
            return self.ys[-1], self.slopes[-1]
        i = bisect_right(xs, x) - 1
        h = xs[i + 1] - xs[i]
        t = (x - xs[i]) / h
        y0, y1, s0, s1 = self.ys[i], self.ys[i + 1], self.slopes[i] * h, self.slopes[i + 1] * h
        square = 3 * (y1 - y0) - 2 * s0 - s1
        cube = 2 * (y0 - y1) + s0 + s1
        return y0 + t * (s0 + t * (square + t * cube)), (s0 + t * (2 * square + 3 * t * cube)) / h

    def knots(self, start, end):
        """Return (x, y, slope) from start to end; between them the same cubic pieces as the curve's own."""
        low = bisect_right(self.xs, start + 1e-9)
        high = bisect_right(self.xs, end - 1e-9)
        inside = list(zip(self.xs[low:high], self.ys[low:high], self.slopes[low:high], strict=True))
        return [(start, *self.at(start)), *inside, (end, *self.at(end))]


def bezier(knots, lead="M"):
    """Return the path through knots, beginning with a move (or, for lead L, a line) to the first."""
    x0, y0, s0 = knots[0]
    parts = [f"{lead}{number(x0)} {number(y0)}"]
    for x1, y1, s1 in knots[1:]:
        third = (x1 - x0) / 3
        y2, y3 = y0 + s0 * third, y1 - s1 * third
        parts.append(f"C{x0 + third:.1f} {y2:.1f} {x1 - third:.1f} {y3:.1f} {x1:.1f} {y1:.1f}")
        x0, y0, s0 = x1, y1, s1
    return "".join(parts)


def band(lower, upper):
    """Return the closed path between two rows of knots that run the same way."""
    return bezier(lower) + bezier(upper[::-1], "L") + "z"
