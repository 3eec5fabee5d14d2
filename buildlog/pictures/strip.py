"""The girth strip: the builder's own girth at the widest station, laid flat, keel first.

Every strake stands at its planned width, to scale. Hung planks are solid, those to come are outlines, the
next is yellow, the closing strake has a heavier outline and a seam down its middle.
"""

from dataclasses import dataclass
from itertools import pairwise

from .checks import one_of, width_or_none
from .drawing import Drawing, number
from .patterns import patterns

STATES = ("hung", "open", "next", "before_log")
SIDES = ("port", "starboard")
SEAM = 1.6
POST = 6.0
BETWEEN = 3.0
MANY = 40


@dataclass(frozen=True, slots=True)
class Plank:
    """One strake at the widest station; width_mm is None where no plan says it."""

    width_mm: float | None
    state: str = "open"
    closing: bool = False

    def __post_init__(self):
        """Refuse a width or a state that cannot be drawn."""
        width_or_none(self.width_mm, "A planned width")
        one_of(self.state, STATES, "The state of a plank")


@dataclass(frozen=True, slots=True)
class Side:
    """One line of the strip: the openings of a side from the keel, each a row of planks from the keel."""

    sign: str
    openings: tuple[tuple[Plank, ...], ...]

    def __post_init__(self):
        """Refuse a side that is neither port nor starboard."""
        one_of(self.sign, SIDES, "The side")


def strip(sides, width=1216, *, summary, key="strip"):
    """Return the strip, starboard the first line and port the second; 1216 for a desk, 360 for a phone."""
    height = 12.0 if width > 600 else 11.0
    rows = sorted(sides, key=lambda side: SIDES.index(side.sign), reverse=True)
    drawing = Drawing(width, key)
    for row, side in enumerate(rows):
        draw_line(drawing, side, top=row * (height + BETWEEN), height=height)
    total = max(len(rows) * (height + BETWEEN) - BETWEEN, height)
    return drawing.picture(total, summary, classes="p-strip", defs=strip_patterns(drawing, rows), sized=False)


def strip_patterns(drawing, sides):
    """Return the hatch of planks hung before this log, where there are any."""
    states = {plank.state for side in sides for opening in side.openings for plank in opening}
    return patterns(drawing.key, ("before",) if "before_log" in states else ())


def scaled(side, width):
    """Return (plank, left, right) for each plank, to scale, and the places of the posts between openings."""
    openings = [opening for opening in side.openings if opening]
    planks = [plank for opening in openings for plank in opening]
    known = [plank.width_mm for plank in planks if plank.width_mm is not None]
    # A plank without a planned width is drawn as the mean of the others; none known: all are equal.
    usual = sum(known) / len(known) if known else 1.0
    room = width - POST * max(len(openings) - 1, 0)
    per_mm = room / sum(plank.width_mm or usual for plank in planks) if planks else 0.0
    placed, posts, left = [], [], 0.0
    for index, opening in enumerate(openings):
        if index:
            posts.append(left)
            left += POST
        for plank in opening:
            right = left + (plank.width_mm or usual) * per_mm
            placed.append((plank, left, right))
            left = right
    return placed, posts


def draw_line(drawing, side, *, top, height):
    """Draw one side as a line of the strip; return where each plank was put."""
    placed, posts = scaled(side, drawing.width)
    every = 5 if len(placed) > MANY else 1
    solid = []
    for plank, left, right in placed:
        if plank.state in ("hung", "before_log"):
            solid.append((plank, left, right))
        else:
            _draw_open(drawing, plank, left, right, top, height)
    for state, classes in (("hung", "p-plank"), ("before_log", "p-before")):
        _draw_solid(drawing, [item for item in solid if item[0].state == state], classes, top, height)
    _draw_seams(drawing, placed, every, top, height)
    for left in posts:
        drawing.rect("p-post", left, top, POST, height)
    for plank, left, right in placed:
        if plank.closing:
            _draw_closing(drawing, plank, left, right, top, height)
    _draw_sign(drawing, side, placed, top, height)
    return placed


def _draw_solid(drawing, items, classes, top, height):
    """Draw neighbouring planks as one block; the seams are ruled over it afterwards."""
    blocks = []
    for _, left, right in items:
        if blocks and abs(blocks[-1][1] - left) < 1e-6:
            blocks[-1][1] = right
        else:
            blocks.append([left, right])
    low = number(top + height)
    d = "".join(f"M{number(a)} {number(top)}H{number(b)}V{low}H{number(a)}z" for a, b in blocks)
    drawing.path(classes, d)
    if classes == "p-before":
        drawing.path("p-doubt", d, fill="hatch-before")


def _draw_open(drawing, plank, left, right, top, height):
    classes = "p-strip-next" if plank.state == "next" else "p-open"
    inset = min(SEAM / 2 + 0.5, (right - left) / 3)
    drawing.rect(classes, left + inset, top + 0.75, right - left - 2 * inset, height - 1.5)


def _draw_seams(drawing, placed, every, top, height):
    """Rule a seam where two hung planks meet; each fifth only where there are many."""
    d = []
    for index, (before, after) in enumerate(pairwise(placed), start=1):
        both = {before[0].state, after[0].state} <= {"hung", "before_log"}
        if both and index % every == 0 and abs(before[2] - after[1]) < 1e-6:
            d.append(f"M{number(after[1])} {number(top)}v{number(height)}")
    drawing.path("p-gap-seam", "".join(d))


def _draw_closing(drawing, plank, left, right, top, height):
    """Outline the closing strake; the seam in its middle is where the two runs meet."""
    inset = min(1.5, (right - left) / 4)
    if plank.state in ("hung", "before_log"):
        return
    drawing.rect("p-strip-closing", left + inset, top + 1.5, right - left - 2 * inset, height - 3)
    middle = (left + right) / 2
    drawing.path("p-split", f"M{number(middle)} {number(top)}v{number(height)}")


def _draw_sign(drawing, side, placed, top, height):
    """Cut the sign of the side out of the garboard: a square for port, a circle for starboard."""
    if not placed:
        return
    plank, left, right = placed[0]
    size = min(height * 0.55, (right - left) * 0.6)
    x = left + min((right - left) / 2, height)
    y = top + height / 2
    solid = plank.state in ("hung", "before_log")
    classes = "p-sign" if solid else "p-ink"
    if side.sign == "port":
        drawing.rect(classes, x - size * 0.45, y - size * 0.45, size * 0.9, size * 0.9)
    else:
        drawing.add(f'<circle class="{classes}" cx="{number(x)}" cy="{number(y)}" r="{number(size / 2)}"/>')
