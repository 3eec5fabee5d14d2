"""Hatches and dots, so that no fill speaks by its colour alone.

Each SVG holds its own patterns, their ids ended by the id of the SVG: a pattern inside an SVG that is not
displayed paints nothing, and only one of three cuts is displayed.
"""

# Strokes stand across the plank: their distance and the class that gives their weight. Dots: tile and radius.
STROKES = {"w1": (9, "p-stroke"), "w2": (6, "p-stroke p-stroke-2"), "w3": (4, "p-stroke p-stroke-3")}
DOTS = {"n1": (7, 1.0), "n2": (5.6, 1.2), "n3": (4, 1.25)}
ALL = ("w1", "w2", "w3", "n1", "n2", "n3", "doubt", "unmeasured", "before", "girth")


def _strokes(name, key):
    tile, classes = STROKES[name]
    return _tile(name, key, tile, tile, f'<path class="{classes}" d="M{tile / 2:g} 0V{tile}"/>')


def _dots(name, key):
    tile, radius = DOTS[name]
    half = tile / 2
    centres = ((half / 2, half / 2), (half * 1.5, half * 1.5))
    dots = "".join(f'<circle class="p-dot" cx="{x:g}" cy="{y:g}" r="{radius}"/>' for x, y in centres)
    return _tile(name, key, tile, tile, dots)


def _tile(name, key, width, height, inside):
    return (
        f'<pattern id="hatch-{name}-{key}" width="{width}" height="{height}" '
        f'patternUnits="userSpaceOnUse">{inside}</pattern>'
    )


def _lines(name, key):
    if name == "doubt":
        return _tile(name, key, 8, 8, '<path class="p-stroke" d="M-2 2L2-2M0 8L8 0M6 10L10 6"/>')
    if name == "girth":
        dots = "".join(f'<circle class="p-dot-open" cx="{at}" cy="{at}" r="1.5"/>' for at in (2.5, 6.5))
        return _tile(name, key, 8, 8, dots)
    if name == "before":
        return _tile(name, key, 6, 6, '<path class="p-stroke p-stroke-2" d="M-1 1L1-1M0 6L6 0M5 7L7 5"/>')
    dashes = '<path class="p-stroke" d="M1 2.5H7M5 7.5H11M-1 7.5H1"/>'
    return _tile(name, key, 10, 10, dashes)


def patterns(key, names=ALL):
    """Return the definitions of the named patterns for the SVG with this id."""
    made = [
        _strokes(name, key) if name in STROKES else _dots(name, key) if name in DOTS else _lines(name, key)
        for name in names
    ]
    return f"<defs>{''.join(made)}</defs>" if made else ""


def used_patterns(drawing):
    """Return the names of the patterns that a drawing has painted with."""
    drawn = "".join(drawing.parts)
    return [name for name in ALL if f"#hatch-{name}-" in drawn]
