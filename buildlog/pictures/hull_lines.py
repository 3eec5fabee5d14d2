"""Where every seam of one side lies on the sheet.

Widths are laid smoothly through the stations strake by strake and added up from the keel, so that two seams
can never cross. A strake that ends short (drop strake, stealer) narrows towards the station it does not reach
and is cut off by a nib on the way; beyond the nib its two neighbours share one seam.
"""

from dataclasses import dataclass
from itertools import pairwise

from .curves import Curve, band, bezier, slopes
from .drawing import number

POST = 6.0
# A nib stands so far on the way to the station that the strake does not reach, where the plan does not say.
NIB = 0.62


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of a strake along which its two neighbours stay the same."""

    start: float
    end: float
    inner: Curve
    outer: Curve


@dataclass(slots=True)
class Band:
    """One strake as drawn: its stretches along the hull, and the pieces that they are made of.

    Its outline is made once, after its side has been moved to its place on the sheet.
    """

    strake: object
    opening: int
    index: int
    stretches: tuple[tuple[float, float], ...]
    pieces: tuple[Piece, ...]
    made: str = ""

    def covers(self, x):
        """Say whether the strake reaches a place."""
        return any(start <= x <= end for start, end in self.stretches)

    def middle(self, x):
        """Return (middle, height) of the strake at a place, or None where it does not reach."""
        for piece in self.pieces:
            if piece.start <= x <= piece.end:
                inner, outer = piece.inner.at(x)[0], piece.outer.at(x)[0]
                return (inner + outer) / 2, abs(outer - inner)
        return None

    def path(self, start=None, end=None):
        """Return the closed path of the strake, or of what lies between two places."""
        parts = []
        for piece in self.pieces:
            a = piece.start if start is None else max(piece.start, start)
            b = piece.end if end is None else min(piece.end, end)
            if b - a > 0.05:
                parts.append(band(piece.inner.knots(a, b), piece.outer.knots(a, b)))
        return "".join(parts)

    def outline(self):
        """Return one closed path for each stretch, round all of its pieces."""
        if not self.made:
            self.made = "".join(self._round(start, end) for start, end in self.stretches)
        return self.made

    def _round(self, start, end):
        pieces = [p for p in self.pieces if p.start >= start - 0.01 and p.end <= end + 0.01]
        there = "L".join(bezier(p.inner.knots(p.start, p.end), "") for p in pieces)
        back = "L".join(bezier(p.outer.knots(p.start, p.end)[::-1], "") for p in reversed(pieces))
        return f"M{there}L{back}z" if pieces else ""

    def edge(self, which):
        """Return the open path of the inner or outer edge."""
        parts, last = [], None
        for piece in self.pieces:
            curve = piece.inner if which == "inner" else piece.outer
            joined = last is not None and abs(piece.start - last) < 0.01
            parts.append(bezier(curve.knots(piece.start, piece.end), "L" if joined else "M"))
            last = piece.end
        return "".join(parts)


class SideLines:
    """The bands of one side, y rising outward from the keel times `outward` (-1 starboard, 1 port)."""

    def __init__(self, side, xs, scale, *, outward, along, ends):
        """Lay the side out on stations at xs px, the keel at height 0.

        `along` turns a place in mm into px (None where unknown); ends are the hull's own, aft and forward.
        """
        self.side, self.xs, self.outward, self.along = side, xs, outward, along
        self.stern, self.bow = ends
        self.bands, self.fixed, self._lines, self._halves = [], [], [], {}
        base = [0.0] * len(xs)
        for index, opening in enumerate(side.openings):
            if index:
                base = [value + POST * outward for value in base]
            base = self._lay(index, opening, base, scale)
        self._waiting = {}
        for one in (one for one in self.bands if not one.strake.is_solid):
            self._waiting.setdefault(one.opening, []).append(one)
        self.extent = max((abs(y) for lines in self._lines for curve in lines for y in curve.ys), default=0.0)

    def _lay(self, index, opening, base, scale):
        rows = drawn_widths(opening, len(self.xs))
        widths = [[value * scale * self.outward for value in row] for row in rows]
        lines = _added(self.xs, base, widths)
        self._lines.append(lines)
        paired = zip(opening.strakes, widths, strict=True)
        stretches = [self._stretches(strake, row) for strake, row in paired]
        self.fixed.append((lines[0], lines[-1]))
        for place, strake in enumerate(opening.strakes):
            pieces = self._pieces(place, stretches, lines)
            self.bands.append(Band(strake, index, place, tuple(stretches[place]), tuple(pieces)))
        return lines[-1].ys

    def _stretches(self, strake, row):
        """Return where the strake stands, each stretch ended by the hull's own ends or by a nib."""
        runs, start = [], None
        for index, width in enumerate([*row, 0.0]):
            if width and start is None:
                start = index
            elif not width and start is not None:
                runs.append((start, index - 1))
                start = None
        ends = [self.along(x) for span in strake.spans_mm for x in span] if self.along else []
        return [(self._nib(first, -1, ends), self._nib(last, 1, ends)) for first, last in runs]

    def _nib(self, station, step, ends):
        """Return where a stretch ends that reaches a station and not the next one."""
        beyond = station + step
        if not 0 <= beyond < len(self.xs):
            return self.bow if step > 0 else self.stern
        near, far = self.xs[station], self.xs[beyond]
        told = [x for x in ends if min(near, far) < x < max(near, far)]
        share = (told[0] - near) / (far - near) if told else NIB
        return near + (far - near) * min(max(share, 0.02), 0.95)

    def _pieces(self, place, stretches, lines):
        cuts = sorted({x for row in stretches for stretch in row for x in stretch})
        pieces = []
        for start, end in stretches[place]:
            inside = [start, *(x for x in cuts if start < x < end), end]
            for a, b in pairwise(inside):
                inner = self._edge(place, -1, (a + b) / 2, stretches, lines)
                outer = self._edge(place, 1, (a + b) / 2, stretches, lines)
                if pieces and pieces[-1].end == a and pieces[-1].inner is inner and pieces[-1].outer is outer:
                    pieces[-1] = Piece(pieces[-1].start, b, inner, outer)
                else:
                    pieces.append(Piece(a, b, inner, outer))
        return pieces

    def _edge(self, place, step, x, stretches, lines):
        """Return the edge towards a neighbour; absent neighbours between share their room with both sides."""
        own = place if step < 0 else place + 1
        far, other = own, place + step
        while 0 <= other < len(stretches) and not any(a <= x <= b for a, b in stretches[other]):
            far, other = far + step, other + step
        if far == own:
            return lines[own]
        if not 0 <= other < len(stretches):
            return lines[far]
        # Both neighbours of a seam ask for it: they must get one and the same curve.
        key = (id(lines), min(own, far), max(own, far))
        if key not in self._halves:
            first, second = lines[own], lines[far]
            ys = [(a + b) / 2 for a, b in zip(first.ys, second.ys, strict=True)]
            ks = [(a + b) / 2 for a, b in zip(first.slopes, second.slopes, strict=True)]
            self._halves[key] = Curve(self.xs, ys, ks)
        return self._halves[key]

    def shift(self, keel):
        """Move every line so that the keel stands at a height of the sheet."""
        for curve in [*(curve for lines in self._lines for curve in lines), *self._halves.values()]:
            curve.ys = [y + keel for y in curve.ys]

    def straighten(self, middle):
        """Lay a side of one strake straight along a height of the sheet, half of its width on each hand."""
        lines = self._lines[0]
        widths, ks = lines[1].ys, lines[1].slopes
        for line, share in ((lines[0], -0.5), (lines[1], 0.5)):
            line.ys = [middle + share * width for width in widths]
            line.slopes = [share * k for k in ks]

    def gap_at(self, opening, x):
        """Return the two free edges of an opening at a place, nearer the keel first, or None."""
        there = [band for band in self._waiting.get(opening, ()) if band.covers(x)]
        if not there:
            return None
        (low, low_height), (high, high_height) = there[0].middle(x), there[-1].middle(x)
        return low - self.outward * low_height / 2, high + self.outward * high_height / 2


def drawn_widths(opening, count):
    """Return a width for every strake and station: what is not known is drawn from its neighbours.

    A missing figure is laid between the known ones of its strake; a strake without any takes the mean of the
    others at each station; with none known at all every strake is one wide.
    """
    rows = [_filled(strake.widths_mm) for strake in opening.strakes]
    means = []
    for station in range(count):
        known = [row[station] for row in rows if row and row[station] > 0]
        means.append(sum(known) / len(known) if known else None)
    means = _filled(tuple(means)) or [1.0] * count
    return [row or list(means) for row in rows]


def _filled(values):
    """Return the values with the missing ones laid straight between their known neighbours, or None."""
    known = [index for index, value in enumerate(values) if value is not None]
    if not known:
        return None
    filled = []
    for index, value in enumerate(values):
        if value is None:
            before = max((k for k in known if k < index), default=known[0])
            after = min((k for k in known if k > index), default=known[-1])
            span = after - before
            share = (index - before) / span if span > 0 else 0.0
            value = values[before] + (values[after] - values[before]) * share
        filled.append(value)
    return filled


def _added(xs, base, widths):
    """Return the seams: the base line, then each strake's smooth width added to the seam before it."""
    lines = [Curve(xs, list(base), [0.0] * len(xs) if len(set(base)) == 1 else slopes(xs, base))]
    for row in widths:
        before = lines[-1]
        ys = [y + width for y, width in zip(before.ys, row, strict=True)]
        ks = [k + slope for k, slope in zip(before.slopes, slopes(xs, row), strict=True)]
        lines.append(Curve(xs, ys, ks))
    return lines


def station_places(hull, stern, bow):
    """Return where each station falls in px, true to the hull's lengths where they are known."""
    stations = hull.stations
    if len(stations) == 1:
        return [(stern + bow) / 2]
    if not hull.is_placed:
        step = (bow - stern) / (len(stations) - 1)
        return [stern + step * index for index in range(len(stations))]
    first, last = stations[0].x_mm, stations[-1].x_mm
    return [stern + (station.x_mm - first) / (last - first) * (bow - stern) for station in stations]


def along_hull(hull, xs):
    """Return what turns a place in mm along the hull into px, or None where no place is known."""
    if not hull.is_placed or len(xs) < 2:
        return None
    first, last = hull.stations[0].x_mm, hull.stations[-1].x_mm
    per_mm = (xs[-1] - xs[0]) / (last - first)
    return lambda x_mm: min(max(xs[0] + (x_mm - first) * per_mm, xs[0] - 1), xs[-1] + 1)


def area(bands):
    """Return the closed path round neighbouring strakes, from the first one's inner edge to the last's outer.

    A short strake at the border has no edge from stern to bow; then each strake is gone round by itself.
    """
    first, last = bands[0], bands[-1]
    if len(first.stretches) != 1 or first.stretches != last.stretches:
        return "".join(band.outline() for band in bands)
    there = "L".join(bezier(p.inner.knots(p.start, p.end), "") for p in first.pieces)
    back = "L".join(bezier(p.outer.knots(p.start, p.end)[::-1], "") for p in reversed(last.pieces))
    return f"M{there}L{back}z"


def bar(x, low, high):
    """Return a bar across a plank."""
    return f"M{number(x)} {number(low)}V{number(high)}"
