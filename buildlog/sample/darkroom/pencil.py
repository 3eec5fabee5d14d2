"""Pencilled lettering, as a builder letters a slip: plain capitals of single strokes, never twice quite the same."""

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

# Strokes on a grid 4 wide and 6 high; a bow is written as its points and rounded when it is drawn.
_STROKES = {
    "A": "06 20 46/14 34", "B": "00 06/00 30 41 42 33 03/33 44 45 36 06", "C": "41 30 10 01 05 16 36 45",
    "D": "00 06/00 20 41 45 26 06", "E": "40 00 06 46/03 33", "F": "40 00 06/03 33",
    "G": "41 30 10 01 05 16 36 45 43 23",
    "H": "00 06/40 46/03 43", "I": "20 26", "J": "40 45 36 16 05", "K": "00 06/40 03 46", "L": "00 06 46",
    "M": "06 00 24 40 46", "N": "06 00 46 40", "O": "20 01 05 26 45 41 20", "P": "06 00 30 41 42 33 03",
    "Q": "20 01 05 26 45 41 20/24 46", "R": "06 00 30 41 42 33 03/23 46", "S": "41 30 10 01 02 44 45 36 16 05",
    "T": "00 40/20 26", "U": "00 05 16 36 45 40", "V": "00 26 40", "W": "00 16 22 36 40", "X": "00 46/40 06",
    "Y": "00 23 40/23 26", "Z": "00 40 06 46", "0": "20 01 05 26 45 41 20", "1": "11 20 26",
    "2": "01 10 30 41 42 06 46", "3": "01 10 30 41 42 33 13/33 44 45 36 16 05", "4": "36 30 04 44",
    "5": "40 00 02 32 43 45 36 06", "6": "40 20 03 05 16 36 45 44 33 13 04", "7": "00 40 16",
    "8": "20 01 02 44 45 26 05 04 42 41 20", "9": "42 33 13 02 01 10 30 41 43 26 06", ".": "25.7 25.9", ",": "25.6 17",
    "/": "40 06", "-": "13 33", "+": "21 25/03 43", "'": "20 21", ":": "22 22.2/25 25.2",
}  # fmt: skip

_STRAIGHT = "AEFHIKLMNTVWXYZ147"


def page(width_mm, height_mm, *, per_mm=14):
    return Image.new("L", (int(width_mm * per_mm), int(height_mm * per_mm)), 0)


def letter(drawn, text, at_mm, high_mm, *, seed=1, per_mm=14, weight=None, lean=0.10):
    """Letter a line from its lower start; the hand wavers a little."""
    rng = np.random.default_rng(seed)
    weight = weight or 0.2 + high_mm * 0.055
    pen, unit = ImageDraw.Draw(drawn), high_mm * per_mm / 6
    x, base = at_mm[0] * per_mm, drawn.height - at_mm[1] * per_mm
    for sign in text.upper():
        rise, narrow = rng.normal(0, 0.10), sign in ".,'I:1"
        x -= unit * 1.1 * narrow
        for stroke in _STROKES.get(sign, "").split("/"):
            points = [_place(token) for token in stroke.split()]
            if points:
                ends = [(x + (a + lean * (6 - b) + rng.normal(0, 0.07)) * unit,
                         base - (6 - b + rise + rng.normal(0, 0.07)) * unit) for a, b in points]  # fmt: skip
                _stroke(pen, ends, weight * per_mm * rng.uniform(0.85, 1.1), is_round=sign not in _STRAIGHT)
        x += unit * (4.6 if narrow else 3.0 if sign == " " else 5.6)
    return x / per_mm


def _place(token):
    """Return the place that a token such as 13.6 names: one figure for x, the rest for y."""
    return float(token[0]), float(token[1:])


def _stroke(pen, points, weight, *, is_round):
    """Draw a stroke with a round point; the corners of a bow are rounded twice first."""
    points = np.array(points)
    for _time in range(2 if is_round else 0):
        if len(points) < 4:
            break
        a, b = points[:-1] * 0.75 + points[1:] * 0.25, points[:-1] * 0.25 + points[1:] * 0.75
        points = np.concatenate([points[:1], np.stack([a, b], 1).reshape(-1, 2)[1:-1], points[-1:]])
    pen.line([tuple(p) for p in points], fill=245, width=max(1, round(weight)), joint="curve")
    for x, y in (points[0], points[-1]):
        pen.ellipse((x - weight / 2, y - weight / 2, x + weight / 2, y + weight / 2), fill=235)


def line(drawn, start_mm, end_mm, *, weight=0.4, per_mm=14, fill=230):
    flip = [(x * per_mm, drawn.height - y * per_mm) for x, y in (start_mm, end_mm)]
    ImageDraw.Draw(drawn).line(flip, fill=fill, width=max(1, round(weight * per_mm)))


def ticks(places_mm, width_mm, *, per_mm=14, shares=(0.0, 0.62)):
    """Return what makes the ink of a strip: a tick from its edge at each of these places along it."""

    def ink(length, _shares, _far):
        drawn = page(width_mm, length, per_mm=per_mm)
        for n, at in enumerate(places_mm):
            ends = (width_mm * shares[0], at), (width_mm * shares[1], at + 0.12 * (n % 2))
            line(drawn, *ends, weight=0.34, per_mm=per_mm)
        return drawn.filter(ImageFilter.GaussianBlur(0.6))

    return ink


_SEGMENTS = {"0": "abcdef", "1": "bc", "2": "abged", "3": "abgcd", "4": "fgbc", "5": "afgcd", "6": "afgedc", "7": "abc",
             "8": "abcdefg", "9": "abcdfg"}  # fmt: skip


def window(figures, unit="mm", *, size=(760, 300)):
    """Draw what a caliper's window shows, in seven slanted segments."""
    drawn = Image.new("L", size, 0)
    pen, x, w, h, top = ImageDraw.Draw(drawn), 150, 92, 190, 55
    for sign in figures:
        if sign == ".":
            pen.ellipse((x - 22, top + h - 12, x + 2, top + h + 12), fill=240)
            x += 22
            continue
        m = h / 2
        places = {"a": (0, 0, w, 0), "b": (w, 0, w, m), "c": (w, m, w, h), "d": (0, h, w, h), "e": (0, m, 0, h),
                  "f": (0, 0, 0, m), "g": (0, m, w, m)}  # fmt: skip
        for name in _SEGMENTS[sign]:
            x0, y0, x1, y1 = places[name]
            gap = 8
            dx, dy = np.sign(x1 - x0) * gap, np.sign(y1 - y0) * gap
            slant = [(x + a + (h - b) * 0.10, top + b) for a, b in ((x0 + dx, y0 + dy), (x1 - dx, y1 - dy))]
            pen.line(slant, fill=240, width=21)
        x += w + 46
    letter(drawn, unit, ((x + 6) / 20, 12.3 * 0.22), 2.6, per_mm=20, weight=0.32, lean=0)
    return drawn.filter(ImageFilter.GaussianBlur(1))


def scale(length_mm, height_mm, *, zero=9.0, per_mm=20):
    """Draw the scale of a caliper's beam."""
    drawn = page(length_mm, height_mm, per_mm=per_mm)
    for mm in range(0, 156):
        long = 5.5 if mm % 10 == 0 else 4.0 if mm % 5 == 0 else 2.6
        line(drawn, (zero + mm, 0.4), (zero + mm, 0.4 + long), weight=0.16, per_mm=per_mm, fill=235)
        if mm % 10 == 0 and mm:
            figure = str(mm // 10)
            letter(drawn, figure, (zero + mm - 0.9 * len(figure), 7.0), 2.5, per_mm=per_mm, weight=0.26, lean=0)
    return drawn
