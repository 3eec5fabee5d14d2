"""The sheet a picture is drawn on: parts of SVG in their order, and the boxes of its words.

Coordinates are px as shown, x towards the bow, y down the page. A label is placed by its ink box, so that a
picture can ask whether a place is free before it writes there; the boxes stay with the picture for the tests.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from .text_widths import CAP_HEIGHT, elided, ink_of, one_line, width_of

# Sizes of the word classes in reckoner.css, px.
SIZES = {"p-label": 13.5, "p-small": 12.5, "p-find": 17.0, "p-side": 20.0, "p-big": 24.0, "p-tag-text": 13.5}
CUTS = ("cut-328", "cut-760", "cut-1178")


@dataclass(frozen=True, slots=True)
class Box:
    """Where the ink of one label lies."""

    left: float
    top: float
    right: float
    bottom: float
    words: str = ""

    def touches(self, other, room=0.0):
        """Say whether two boxes come nearer than the room between them."""
        return (
            self.left < other.right + room
            and other.left < self.right + room
            and self.top < other.bottom + room
            and other.top < self.bottom + room
        )


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing ready for a template, and the one sentence that stands for it."""

    svg: SafeString
    summary: str
    width: float = 0.0
    height: float = 0.0
    boxes: tuple[Box, ...] = field(default=(), repr=False)

    def __str__(self):
        """Return the drawing, so that a template may write the picture itself."""
        return self.svg


def number(value):
    """Return a coordinate with one decimal at most, as few signs as can be."""
    text = f"{value:.1f}"
    if text[-2:] == ".0":
        text = text[:-2]
    return "0" if text == "-0" else text


class Drawing:
    """Parts of one SVG, collected in the order they are painted."""

    def __init__(self, width, key):
        """Begin a sheet of a width in px; the key becomes the id of the SVG."""
        self.width = width
        self.key = escape("".join(sign for sign in str(key) if sign.isalnum() or sign in "-_") or "picture")
        self.parts = []
        self.boxes = []
        # Places that are no words but that words must keep out of, as the frames of tags.
        self.taken = []

    def add(self, part):
        """Add a part that is already safe."""
        self.parts.append(part)

    def path(self, classes, d, fill=""):
        """Draw a path; the fill names one of the page's patterns."""
        if d:
            pattern = f' fill="url(#{fill}-{self.key})"' if fill else ""
            self.parts.append(f'<path class="{classes}"{pattern} d="{d}"/>')

    def line(self, classes, x1, y1, x2, y2):
        """Draw a straight line."""
        self.parts.append(
            f'<line class="{classes}" x1="{number(x1)}" y1="{number(y1)}" '
            f'x2="{number(x2)}" y2="{number(y2)}"/>'
        )

    def rect(self, classes, x, y, width, height, fill=""):
        """Draw a rectangle."""
        pattern = f' fill="url(#{fill}-{self.key})"' if fill else ""
        self.parts.append(
            f'<rect class="{classes}"{pattern} x="{number(x)}" y="{number(y)}" '
            f'width="{number(max(width, 0))}" height="{number(max(height, 0))}"/>'
        )

    def text(self, classes, x, y, words, *, room=None, tips=""):
        """Write words on a baseline, cut short to the room, and keep their ink box."""
        said = one_line(words)
        shown, box = place(classes, x, y, said, room)
        tip = said if shown != said else one_line(tips)
        title = f"<title>{escape(tip)}</title>" if tip else ""
        self.parts.append(
            f'<text class="{classes}" x="{number(x)}" y="{number(y)}">{title}{escape(shown)}</text>'
        )
        self.boxes.append(box)
        return box

    def is_free(self, box, room=2.0):
        """Say whether a box keeps clear of every label written so far."""
        left, top, right, bottom = box.left - room, box.top - room, box.right + room, box.bottom + room
        return not any(
            other.left < right and left < other.right and other.top < bottom and top < other.bottom
            for other in (*self.boxes, *self.taken)
        )

    def text_if_free(self, classes, x, y, words, *, room=None, clear=2.0):
        """Write words where no label stands yet; say whether there was a place."""
        box = place(classes, x, y, one_line(words), room)[1]
        if box.left < 0 or box.right > self.width or not self.is_free(box, clear):
            return False
        self.text(classes, x, y, words, room=room)
        return True

    def picture(self, height, summary, *, classes="p-figure", defs="", sized=True, stretched=False):
        """Return the picture; summary is the sentence of its role=img."""
        said = one_line(summary)
        size = f' width="{number(self.width)}" height="{number(height)}"' if sized else ""
        # A picture without words may be stretched to the rows of figures that it stands beside.
        size += ' preserveAspectRatio="none"' if stretched else ""
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="{classes}" id="{self.key}" '
            f'viewBox="0 0 {number(self.width)} {number(height)}"{size} role="img" '
            f'aria-label="{escape(said)}">'
        )
        svg = mark_safe(head + defs + "".join(self.parts) + "</svg>")  # noqa: S308  every part above is escaped
        return Picture(svg, said, self.width, height, tuple(self.boxes))

    def mark(self, height, summary, *, shown_width):
        """Return a small sign that stands beside words; without a summary it is decoration."""
        said = one_line(summary)
        role = f'role="img" aria-label="{escape(said)}"' if said else 'aria-hidden="true" focusable="false"'
        shown_height = height * shown_width / self.width
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="p-sign-mark" viewBox="0 0 {number(self.width)} '
            f'{number(height)}" width="{number(shown_width)}" height="{number(shown_height)}" {role}>'
        )
        svg = mark_safe(head + "".join(self.parts) + "</svg>")  # noqa: S308  every part above is escaped
        return Picture(svg, said, shown_width, shown_height)


def size_of(classes):
    """Return the text size in px of a word class."""
    return SIZES[classes.split(" ", 1)[0]]


def place(classes, x, y, words, room=None):
    """Return the words as they would be shown at a place, and their ink box."""
    size = size_of(classes)
    shown = words if room is None else elided(words, size, room)
    width = width_of(shown, size)
    if classes.startswith("p-side"):
        # Headings are spaced out by a hundredth of their size.
        width += 0.01 * size * len(shown)
    if "p-mid" in classes:
        x -= width / 2
    elif "p-end" in classes:
        x -= width
    above, below = ink_of(shown)
    return shown, Box(x, y - above * size, x + width, y + below * size, shown)


def middle_baseline(y, classes):
    """Return the baseline that sets figures and capitals half over and half under a height."""
    return y + CAP_HEIGHT * size_of(classes) / 2


def three_cuts(pictures: Sequence[Picture]) -> SafeString:
    """Return the three cuts of one picture, narrow first; the style sheet shows the one that fits."""
    narrow, middle, wide = pictures
    shown = zip(CUTS, (narrow, middle, wide), strict=True)
    cuts = "".join(f'<div class="{cut}">{picture.svg}</div>' for cut, picture in shown)
    return mark_safe(f'<div class="cuts">{cuts}</div>')  # noqa: S308  pictures are escaped when they are made


def column_cuts(narrow: Picture, half: Picture, wide: Picture) -> SafeString:
    """Return the three cuts of a picture that lies over a photograph: on a phone, in a column, across a page."""
    cuts = zip(("cut-328", "cut-560", "cut-760"), (narrow, half, wide), strict=True)
    inside = "".join(f'<div class="{name}">{cut.svg}</div>' for name, cut in cuts)
    return mark_safe(f'<div class="cuts">{inside}</div>')  # noqa: S308  pictures are escaped when they are made


def half_cuts(narrow: Picture, half: Picture) -> SafeString:
    """Return the two cuts of a picture that never takes more than half a desk: a phone's, and a column's."""
    cuts = f'<div class="cut-328">{narrow.svg}</div><div class="cut-560">{half.svg}</div>'
    return mark_safe(f'<div class="cuts">{cuts}</div>')  # noqa: S308  pictures are escaped when they are made


def spread(places, sizes, top, bottom):
    """Return middles as near their places as can be, none overlapping, all between top and bottom.

    Labels are pushed on from the first to the last, then back from the end; those that cannot all fit are
    the caller's to thin out first.
    """
    order = sorted(range(len(places)), key=lambda index: places[index])
    middles = [0.0] * len(places)
    edge = top
    for index in order:
        middles[index] = max(places[index], edge + sizes[index] / 2)
        edge = middles[index] + sizes[index] / 2
    edge = bottom
    for index in reversed(order):
        middles[index] = min(middles[index], edge - sizes[index] / 2)
        edge = middles[index] - sizes[index] / 2
    return middles
