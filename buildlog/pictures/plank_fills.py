"""Fills and lines of one side of the plank map, painted from the ground up."""

from itertools import groupby, pairwise

from .curves import band as band_path
from .curves import bezier
from .hull_lines import area, bar


def draw_side(drawing, lines, steps_mm, *, plain):
    """Draw planks, hatches, seams, free edges, butts and the fixed lines of one side."""
    draw_planks(drawing, lines, () if plain else steps_mm)
    _seams(drawing, lines)
    _open(drawing, lines)
    drawing.path("p-butt", butt_bars(lines))
    _fixed(drawing, lines)


def draw_planks(drawing, lines, steps_mm):
    """Draw planks and what they came out like; without steps only which are hung."""
    _planks(drawing, lines)
    if steps_mm:
        _deviations(drawing, lines, steps_mm)
        _unmeasured(drawing, lines)
    _before(drawing, lines)


def _planks(drawing, lines):
    """Fill what is hung and what is not, neighbours as one area: the seams are ruled over it."""
    fills = {True: [], False: []}
    for (_opening, solid), group in groupby(
        lines.bands, key=lambda band: (band.opening, band.strake.is_solid)
    ):
        fills[solid].append(area(list(group)))
    drawing.path("p-hung", "".join(fills[True]))
    drawing.path("p-bare", "".join(fills[False]))


def step_of(deviation, steps_mm):
    """Return the class of a deviation: w or n with its step, or "" within the first step."""
    reached = sum(abs(deviation) >= step - 1e-9 for step in steps_mm)
    return f"{'w' if deviation > 0 else 'n'}{reached}" if reached else ""


def cells(xs, start, end, values):
    """Return (from, to, value, index) for each station read: its cell reaches half way to its neighbours.

    Between two stations that were read the cells meet half way between these two; towards a station that was
    not read and beyond which none was, a cell ends half way to that station.
    """
    read = [index for index, value in enumerate(values) if value is not None]
    found = []
    for order, index in enumerate(read):
        before = read[order - 1] if order else index - 1
        after = read[order + 1] if order + 1 < len(read) else index + 1
        left = (xs[before] + xs[index]) / 2 if before >= 0 else start
        right = (xs[index] + xs[after]) / 2 if after < len(xs) else end
        found.append((max(left, start), min(right, end), values[index], index))
    return [cell for cell in found if cell[1] > cell[0]]


def _deviations(drawing, lines, steps_mm):
    """Fill what came out wide or narrow, neighbouring cells of one step as one; then what is in doubt."""
    filled = {f"{tone}{step}": [] for tone in "wn" for step in (1, 2, 3)}
    doubtful = []
    for band in lines.bands:
        if band.strake.state != "hung":
            continue
        runs = []
        for left, right, value, index in cells(lines.xs, lines.stern, lines.bow, band.strake.deviations_mm):
            name = step_of(value, steps_mm)
            if runs and runs[-1][0] == name and abs(runs[-1][2] - left) < 0.01:
                runs[-1][2] = right
            else:
                runs.append([name, left, right])
            if band.strake.doubtful and band.strake.doubtful[index]:
                doubtful.append(band.path(left, right))
        for name, left, right in runs:
            if name:
                filled[name].append(band.path(left, right))
    for name, parts in filled.items():
        d = "".join(parts)
        drawing.path(f"p-{name}", d)
        drawing.path("p-doubt", d, fill=f"hatch-{name}")
    drawing.path("p-doubt", "".join(doubtful), fill="hatch-doubt")


def _unmeasured(drawing, lines):
    bands = [
        band
        for band in lines.bands
        if band.strake.state == "hung" and all(value is None for value in band.strake.deviations_mm)
    ]
    drawing.path("p-unmeasured", "".join(band.outline() for band in bands), fill="hatch-unmeasured")


def _before(drawing, lines):
    bands = [band for band in lines.bands if band.strake.state == "before_log"]
    drawing.path("p-doubt", "".join(band.outline() for band in bands), fill="hatch-before")


def _seams(drawing, lines):
    """Rule every seam once, as the outer edge of the strake on its keel side, and the nibs."""
    d = [band.edge("outer") for band in lines.bands]
    for band in lines.bands:
        for start, end in band.stretches:
            for x in (start, end):
                if lines.stern < x < lines.bow:
                    middle = band.middle(x)
                    d.append(bar(x, middle[0] - middle[1] / 2, middle[0] + middle[1] / 2))
    ends = []
    for x in (lines.stern, lines.bow):
        there = [band for band in lines.bands if band.covers(x)]
        if there:
            ends.append(bar(x, there[0].pieces[0].inner.at(x)[0], there[-1].pieces[0].outer.at(x)[0]))
    drawing.path("p-seam", "".join(d + ends))


def _open(drawing, lines):
    """Draw the closing strake and the next one over the seams, then the free edges of both runs."""
    waiting = [band for band in lines.bands if not band.strake.is_solid]
    closing = "".join(band.outline() for band in waiting if band.strake.closing)
    drawing.path("p-closing", closing)
    drawing.path("p-next", "".join(band.outline() for band in waiting if band.strake.state == "next"))
    drawing.path("p-closing-line", closing)
    free = []
    for opening in {band.opening for band in waiting}:
        group = [band for band in lines.bands if band.opening == opening]
        for inner, outer in pairwise(group):
            if inner.strake.is_solid and not outer.strake.is_solid:
                free.append(inner.edge("outer"))
            elif outer.strake.is_solid and not inner.strake.is_solid:
                free.append(outer.edge("inner"))
    drawing.path("p-free", "".join(free))


def butt_bars(lines):
    """Return the bars of the butts of all planks hung."""
    d = []
    if lines.along:
        for band in (band for band in lines.bands if band.strake.is_solid):
            for x_mm in band.strake.butts_mm:
                x = lines.along(x_mm)
                middle = band.middle(x)
                if middle and lines.stern < x < lines.bow:
                    half = max(middle[1] / 2 - 0.8, 0.5)
                    d.append(bar(x, middle[0] - half, middle[0] + half))
    return "".join(d)


def _fixed(drawing, lines):
    """Rule the wale; between two openings stands a post of ink."""
    for index, (_inner, outer) in enumerate(lines.fixed):
        knots = outer.knots(lines.stern, lines.bow)
        if index + 1 < len(lines.fixed):
            drawing.path("p-ink", band_path(knots, lines.fixed[index + 1][0].knots(lines.stern, lines.bow)))
        else:
            drawing.path("p-wale", bezier(knots))
