"""Draw the eight signs of the log as a small font: python make_signs.py [FOLDER]

The text face draws its square and diamond far smaller than its disc, and has no crossed ring, tick or
cross. So these eight are drawn here by formula on its cap height (658 of 1000), so that port (square),
starboard (disc) and both (diamond) weigh alike. Needs fontTools and brotli (tests/requirements.txt).
The shapes are this project's own.
"""

import math
import sys
from pathlib import Path

from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen

CAP = 658
MIDDLE = CAP / 2
BEARING = 24
SQUARE = 0.86 * CAP
DISC = 0.98 * CAP
DIAMOND = 1.18 * CAP
# The crossed ring stands among letters as a station's name, so it is as large as a round capital looks.
RING = 1.14 * CAP
STROKE = 72
# Seconds from 1904 to 1 January 2026, so that the same script always writes the same bytes.
DRAWN_ON = 2_082_844_800 + 1_767_225_600


def polygon(pen, points):
    """Draw a closed outline; TrueType fills outlines that turn clockwise."""
    pen.moveTo(points[0])
    for point in points[1:]:
        pen.lineTo(point)
    pen.closePath()


def circle(pen, centre, radius, clockwise=True):
    """Draw a circle from eight quadratic arcs, all of whose control points lie off the curve."""
    reach = radius / math.cos(math.pi / 8)
    turn = -1 if clockwise else 1
    angles = [turn * (2 * step + 1) * math.pi / 8 for step in range(8)]
    pen.qCurveTo(*[(centre + reach * math.cos(a), MIDDLE + reach * math.sin(a)) for a in angles], None)
    pen.closePath()


def bar(pen, start, end, width):
    """Draw a straight stroke with square ends."""
    (x0, y0), (x1, y1) = start, end
    length = math.hypot(x1 - x0, y1 - y0)
    nx, ny = (y1 - y0) / length * width / 2, -(x1 - x0) / length * width / 2
    polygon(pen, [(x0 - nx, y0 - ny), (x1 - nx, y1 - ny), (x1 + nx, y1 + ny), (x0 + nx, y0 + ny)])


def square(pen):
    low, high = MIDDLE - SQUARE / 2, MIDDLE + SQUARE / 2
    left, right = BEARING, BEARING + SQUARE
    polygon(pen, [(left, low), (left, high), (right, high), (right, low)])
    return SQUARE


def disc(pen):
    circle(pen, BEARING + DISC / 2, DISC / 2)
    return DISC


def diamond(pen):
    left, right, half = BEARING, BEARING + DIAMOND, DIAMOND / 2
    polygon(
        pen, [(left, MIDDLE), (left + half, MIDDLE + half), (right, MIDDLE), (left + half, MIDDLE - half)]
    )
    return DIAMOND


def triangle(pen, points_up):
    """Equal sides, standing on the line or hanging from the cap height."""
    width, height = DISC, DISC * math.sqrt(3) / 2
    foot = (CAP - height) / 2
    left, right, middle = BEARING, BEARING + width, BEARING + width / 2
    if points_up:
        polygon(pen, [(left, foot), (middle, foot + height), (right, foot)])
    else:
        polygon(pen, [(left, foot + height), (right, foot + height), (middle, foot)])
    return width


def crossed_ring(pen):
    centre, radius = BEARING + RING / 2, RING / 2
    circle(pen, centre, radius)
    circle(pen, centre, radius - STROKE, clockwise=False)
    reach = (radius - STROKE / 2) * math.sqrt(0.5)
    for slope in (1, -1):
        bar(pen, (centre - reach, MIDDLE - slope * reach), (centre + reach, MIDDLE + slope * reach), STROKE)
    return RING


def tick(pen):
    elbow = (BEARING + 190, 60)
    bar(pen, (BEARING + 20, 290), (elbow[0] + 30, elbow[1] - 18), STROKE + 22)
    bar(pen, (elbow[0] - 30, elbow[1] - 18), (BEARING + 520, CAP - 20), STROKE + 22)
    return 560


def cross(pen):
    size = 0.78 * CAP
    low, high = MIDDLE - size / 2, MIDDLE + size / 2
    bar(pen, (BEARING, low), (BEARING + size, high), STROKE + 22)
    bar(pen, (BEARING, high), (BEARING + size, low), STROKE + 22)
    return size


SIGNS = {
    "■": ("square", square),
    "●": ("disc", disc),
    "◆": ("diamond", diamond),
    "▲": ("wide", lambda pen: triangle(pen, True)),
    "▼": ("narrow", lambda pen: triangle(pen, False)),
    "⊗": ("deadflat", crossed_ring),
    "✓": ("tick", tick),
    "✕": ("cross", cross),
}


def build():
    """Return a FontBuilder holding the eight signs at the text face's measures."""
    glyphs, widths = {".notdef": TTGlyphPen(None).glyph()}, {".notdef": (500, 0)}
    for name, draw in SIGNS.values():
        pen = TTGlyphPen(None)
        widths[name] = (round(draw(pen) + 2 * BEARING), BEARING)
        glyphs[name] = pen.glyph()
    font = FontBuilder(1000, isTTF=True)
    font.setupGlyphOrder(list(glyphs))
    font.setupCharacterMap({ord(sign): name for sign, (name, _) in SIGNS.items()})
    font.setupGlyf(glyphs)
    font.setupHorizontalMetrics(widths)
    font.setupHorizontalHeader(ascent=950, descent=-250)
    font.setupNameTable({"familyName": "Reckoner Signs", "styleName": "Regular"})
    font.setupOS2(sTypoAscender=950, sTypoDescender=-250, usWinAscent=950, usWinDescent=250, sCapHeight=CAP)
    font.setupPost(keepGlyphNames=False)
    return font


if __name__ == "__main__":
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent
    signs = build()
    signs.font.recalcTimestamp = False
    signs.font["head"].created = signs.font["head"].modified = DRAWN_ON
    signs.font.flavor = "woff2"
    signs.save(folder / "signs.woff2")
