"""The plank on a cut card: its datum edge straight and thick, the other edge as it is to be cut.

Outer face up. On paper the bow is to the right: then the keel side is the upper edge of a port plank and the
lower edge of a starboard one. On the phone the same plank is turned so that the bow points away from the
builder: the keel side of a port plank is then its left edge, of a starboard one its right edge.

Stations stand evenly apart, each over its own figures; widths are to scale among themselves. No true scale is
claimed.
"""

from dataclasses import dataclass, field
from itertools import pairwise

from django.utils.translation import gettext as _

from .checks import finite, one_of, rising, width_or_none
from .curves import Curve
from .drawing import Drawing, middle_baseline, number, place

EDGES = ("keel", "wale")
SIDES = ("port", "starboard")
# An A5 sheet across, less its margins, in px of 1/96 in; the datum line is 9 px wide in both forms.
PAPER_WIDTH, PLANK_HEIGHT = 734.0, 84.0
PHONE_WIDTH, DATUM = 72.0, 9.0


@dataclass(frozen=True, slots=True)
class CardStation:
    """A station of the card: the width wanted there, and where it stands along the hull, if known."""

    name: str
    width_mm: float
    x_mm: float | None = None

    def __post_init__(self):
        """Refuse a width that cannot be cut."""
        if width_or_none(self.width_mm, f"The width at {self.name}") is None:
            raise ValueError(f"The width at {self.name} is missing.")
        if self.x_mm is not None:
            finite(self.x_mm, f"The place of {self.name}")


@dataclass(frozen=True, slots=True)
class CardButt:
    """A butt of the strake; lean_mm is how far its other end lies forward of its end at the datum edge."""

    x_mm: float
    words: str = ""
    lean_mm: float = 0.0

    def __post_init__(self):
        """Refuse a place that is not a number."""
        finite(self.x_mm, "The place of a butt")
        finite(self.lean_mm, "The lean of a butt")


@dataclass(frozen=True, slots=True)
class CardPlank:
    """What is to be cut: the side, the edge to measure from, the stations from aft to forward."""

    side: str
    datum: str
    stations: tuple[CardStation, ...]
    butts: tuple[CardButt, ...] = field(default=())

    def __post_init__(self):
        """Refuse a plank without stations, or with stations out of order."""
        one_of(self.side, SIDES, "The side")
        one_of(self.datum, EDGES, "The datum edge")
        if not self.stations:
            raise ValueError("A cut card needs one station at least.")
        if self.is_placed:
            rising([station.x_mm for station in self.stations], "The places of the stations")

    @property
    def is_placed(self):
        """Say whether every station's place along the hull is known."""
        return all(station.x_mm is not None for station in self.stations)


def upper_edge(side):
    """Return which edge is the upper one with the outer face up and the bow to the right."""
    return "keel" if side == "port" else "wale"


def left_edge(side):
    """Return which edge is the left one with the outer face up and the bow away from the builder."""
    return upper_edge(side)


class _Shape:
    """The plank along the card, px: s runs from aft to forward, widths outward from the datum edge."""

    def __init__(self, plank, length, widest):
        self.length = length
        self.cell = length / len(plank.stations)
        self.places = [(index + 0.5) * self.cell for index in range(len(plank.stations))]
        per_mm = widest / max(station.width_mm for station in plank.stations)
        self.widths = [station.width_mm * per_mm for station in plank.stations]
        self.curve = Curve(self.places, self.widths)
        self.butts = [self._butt(plank, butt) for butt in plank.butts] if plank.is_placed else []

    def edge_knots(self):
        """Return the cut edge from the aft end of the card to its forward end."""
        along = self.curve.knots(self.places[0], self.places[-1])[1:-1] or []
        first, last = self.places[0], self.places[-1]
        (aft, aft_slope), (fore, fore_slope) = self.curve.at(first), self.curve.at(last)
        return [
            (0.0, self._straight_on(aft, -aft_slope), aft_slope),
            (first, aft, aft_slope),
            *along,
            (last, fore, fore_slope),
            (self.length, self._straight_on(fore, fore_slope), fore_slope),
        ]

    def _straight_on(self, width, slope):
        """Return the width half a cell past the last station, where the card ends and no figure stands."""
        return min(max(width + slope * self.cell / 2, width * 0.4), max(self.widths))

    def _along(self, plank, x_mm):
        """Return where a place along the hull falls on the card, whose stations stand evenly."""
        xs = [station.x_mm for station in plank.stations]
        if len(xs) == 1:
            return self.places[0]
        index = max((i for i in range(len(xs) - 1) if xs[i] <= x_mm), default=0)
        return self.places[index] + (x_mm - xs[index]) / (xs[index + 1] - xs[index]) * self.cell

    def _butt(self, plank, butt):
        return butt, self._along(plank, butt.x_mm), self._along(plank, butt.x_mm + butt.lean_mm)


def cut_card(plank, form="paper", *, summary, key="cut-card", row=98.0, head=28.0):
    """Return the plank of a cut card: `paper` lies along an A5 sheet, `phone` stands beside rows of figures.

    On the phone each station takes one row of `row` px under a head of `head` px that says BOW.
    """
    if one_of(form, ("paper", "phone"), "The form") == "paper":
        return _paper(plank, summary, key)
    return _phone(plank, summary, key, row, head)


def _paper(plank, summary, key):
    drawing = Drawing(PAPER_WIDTH, key)
    shape = _Shape(plank, PAPER_WIDTH, PLANK_HEIGHT)
    datum_is_upper = upper_edge(plank.side) == plank.datum
    top = 36.0
    # The datum line is centred on the datum edge; widths are drawn from its inner side.
    datum_y = top + DATUM / 2 if datum_is_upper else top + PLANK_HEIGHT + DATUM / 2
    outward = 1 if datum_is_upper else -1
    start = datum_y + outward * DATUM / 2

    def point(s, w):
        return s, start + outward * w

    _plank(drawing, shape, point)
    drawing.line("p-card-datum", 0, datum_y, PAPER_WIDTH, datum_y)
    bottom = top + DATUM + PLANK_HEIGHT
    _edge_words(drawing, plank, top - 12, bottom, datum_is_upper)
    height = _butt_words(drawing, shape, bottom + 24)
    return drawing.picture(height, summary, classes="p-figure p-card")


def _plank(drawing, shape, point):
    """Fill the plank, rule its free edge, its stations with a foot at the figure's width, and its butts."""
    knots = shape.edge_knots()
    edge = _turned(knots, point)
    (x0, y0), (x1, y1) = point(0.0, 0.0), point(shape.length, 0.0)
    drawing.path("p-card-fill", f"{edge}L{number(x1)} {number(y1)}L{number(x0)} {number(y0)}z")
    foot = min(10.0, shape.cell * 0.2)
    ruled = []
    for s, width in zip(shape.places, shape.widths, strict=True):
        ruled.append(_segment(point(s, 0.0), point(s, width)))
        ruled.append(_segment(point(s - foot, width), point(s + foot, width)))
    drawing.path("p-card-station", "".join(ruled))
    for _butt, near, far in shape.butts:
        if 0 <= near <= shape.length:
            drawing.path("p-card-butt", _segment(point(near, 0.0), point(far, shape.curve.at(far)[0])))
    drawing.path("p-card-free", edge)


def _turned(knots, point):
    """Return the path through knots once they are turned onto the card."""
    x, y = point(knots[0][0], knots[0][1])
    parts = [f"M{number(x)} {number(y)}"]
    for (s0, w0, k0), (s1, w1, k1) in pairwise(knots):
        third = (s1 - s0) / 3
        ends = (point(s0 + third, w0 + k0 * third), point(s1 - third, w1 - k1 * third), point(s1, w1))
        parts.append("C" + " ".join(f"{number(x)} {number(y)}" for x, y in ends))
    return "".join(parts)


def _segment(start, end):
    return f"M{number(start[0])} {number(start[1])}L{number(end[0])} {number(end[1])}"


def _edge_names(plank):
    datum = _("KEEL SIDE") if plank.datum == "keel" else _("WALE SIDE")
    other = _("WALE SIDE") if plank.datum == "keel" else _("KEEL SIDE")
    return _("measure from this edge: %(edge)s, the thick line") % {"edge": datum}, other


def _edge_words(drawing, plank, above, bottom, datum_is_upper):
    """Name both edges, and point to the bow."""
    datum, other = _edge_names(plank)
    bow = drawing.text("p-big p-end", PAPER_WIDTH, above, _("BOW →"))
    room = bow.left - 20
    upper, lower = (datum, other) if datum_is_upper else (other, datum)
    drawing.text("p-find", 0, above, upper, room=room)
    drawing.text("p-find", 0, bottom + 24, lower, room=PAPER_WIDTH)


def _butt_words(drawing, shape, y):
    """Write what each butt is under its place, on lines enough to keep words apart; return the height."""
    lowest = y
    for butt, near, far in shape.butts:
        if not butt.words or not 0 <= near <= shape.length:
            continue
        half = (place("p-find p-mid", 0, 0, butt.words)[1].right) + 2
        x = min(max((near + far) / 2, half), PAPER_WIDTH - half)
        line = 0
        while not drawing.text_if_free("p-find p-mid", x, y + line * 22, butt.words, clear=3) and line < 6:
            line += 1
        lowest = max(lowest, y + min(line, 6) * 22)
    return lowest + 10


def _phone(plank, summary, key, row, head):
    """Stand the plank up, bow first, its datum edge left or right as the side asks."""
    length = row * len(plank.stations)
    drawing = Drawing(PHONE_WIDTH, key)
    shape = _Shape(plank, length, PHONE_WIDTH - DATUM - 5)
    datum_is_left = left_edge(plank.side) == plank.datum
    edge_x = DATUM if datum_is_left else PHONE_WIDTH - DATUM
    outward = 1 if datum_is_left else -1

    def point(s, w):
        return edge_x + outward * w, head + length - s

    _plank(drawing, shape, point)
    datum_x = edge_x - outward * DATUM / 2
    drawing.line("p-card-datum", datum_x, head, datum_x, head + length)
    if head:
        y = middle_baseline(head / 2, "p-label")
        drawing.text("p-label p-mid", PHONE_WIDTH / 2, y, _("BOW ↑"), room=PHONE_WIDTH)
    return drawing.picture(head + length, summary, classes="p-figure p-card", stretched=not head)
