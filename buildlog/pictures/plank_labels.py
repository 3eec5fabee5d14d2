"""Words round the plank map: stations, strake numbers, short strakes, belts, each clear of the others."""

from itertools import pairwise

from django.utils.translation import gettext as _

from .drawing import middle_baseline, number, one_line, place, spread
from .text_widths import width_of

# A name over the stern must stand clear of the heading beside it.
NAME_ROOM = 88.0
SIGNS = {"wide": "▲ ", "narrow": "▼ ", "within": "", "open": ""}


def draw_names(drawing, stations, xs, baselines, top, bottom):
    """Write the stations on each baseline, as many as have room, and rule them from top to bottom underneath.

    Dead flat comes first, then the ends, then each eighth, fourth and second.
    """
    spacing = min((b - a for a, b in pairwise(xs)), default=200.0)
    ends = (0, len(xs) - 1)
    order = sorted(range(len(xs)), key=lambda i: (not stations[i].is_dead_flat, i not in ends, _rank(i)))
    names = short_names([station.name for station in stations], spacing - 6)
    ruled = []
    for index in order:
        x = _held_in(drawing, xs[index], names[index], NAME_ROOM)
        named = [
            drawing.text_if_free("p-label p-mid", x, baseline, names[index], room=NAME_ROOM, clear=5)
            for baseline in baselines
        ]
        if any(named) or spacing > 7:
            ruled.append(f"M{number(xs[index])} {number(top)}V{number(bottom)}")
    drawing.parts.insert(0, f'<path class="p-station" d="{"".join(ruled)}"/>')


def short_names(names, room):
    """Return the names without the words they all begin with, where some name has not the room it needs.

    "Bulkhead 1" to "Bulkhead 7" become 1 to 7: cut short behind, they would all read alike.
    """
    split = [one_line(name).split() for name in names]
    if len(split) < 2 or all(width_of(" ".join(words), 13.5) <= room for words in split):
        return names
    shared = 0
    while all(len(words) > shared + 1 and words[shared] == split[0][shared] for words in split):
        shared += 1
    return [" ".join(words[shared:]) for words in split]


def _rank(index):
    """Return how early a station is named where not all can be: each eighth, fourth, second, the rest."""
    return next(rank for rank, every in enumerate((8, 4, 2, 1)) if index % every == 0)


def _held_in(drawing, x, words, room):
    """Move a middle so that its words stay on the sheet."""
    half = place("p-label", 0, 0, one_line(words), room)[1].right / 2
    return min(max(x, half), drawing.width - half)


def number_column(sides):
    """Return where the strake numbers stand: clear of butts, stations and short strakes."""
    lines = sides[0]
    length = lines.bow - lines.stern
    butts = [
        side.along(butt)
        for side in sides
        if side.along
        for band in side.bands
        for butt in band.strake.butts_mm
    ]
    short = [band for side in sides for band in side.bands if band.stretches != ((lines.stern, lines.bow),)]

    def cost(share):
        x = lines.stern + length * share
        near_butts = sum(abs(butt - x) < 14 for butt in butts)
        near_stations = sum(abs(station - x) < 11 for station in lines.xs)
        return (
            10 * abs(share - 0.33)
            + 6 * near_butts
            + 4 * near_stations
            + 3 * sum(not b.covers(x) for b in short)
        )

    return lines.stern + length * min((0.15 + 0.03 * step for step in range(24)), key=cost)


def draw_numbers(drawing, lines, x):
    """Number the strakes in one column; where they are many and thin, each second, fifth or tenth.

    Return the bands that have their number.
    """
    named = []
    there = [(index, band, *band.middle(x)) for index, band in enumerate(lines.bands) if band.covers(x)]
    if not there:
        return named
    pitch = sorted(height for *_rest, height in there)[len(there) // 2]
    every = next((step for step in (1, 2, 5, 10) if step * pitch >= 10.5), 20)
    first = {0, len(lines.bands) - 1}

    def order(item):
        index, band = item[0], item[1]
        marked = band.strake.state == "next" or band.strake.closing
        return (not marked, index not in first, index)

    for index, band, middle, height in sorted(there, key=order):
        due = (index + 1) % every == 0 or index in first
        if height < 3 or not (due or band.strake.state == "next" or band.strake.closing):
            continue
        y = middle_baseline(middle, "p-label")
        if drawing.text_if_free("p-label p-mid p-halo", x, y, band.strake.label, room=44, clear=0.4):
            named.append(band)
    return named


def draw_ends(drawing, lines, frame, bounds, named):
    """Name strakes that end short: at the bow in the gutter, else inside; return those without a place."""
    ahead, inside, left_out = [], [], []
    for band in lines.bands:
        for start, end in band.stretches:
            if end < lines.bow - 1 and end > (lines.stern + lines.bow) / 2 and frame.gutters:
                ahead.append((band, end))
            elif start > lines.stern + 1 or end < lines.bow - 1:
                inside.append((band, start, end))
    left_out += _draw_gutter(drawing, lines, frame, bounds, ahead)
    for band, start, end in inside:
        # A strake numbered in the column is not numbered twice: the key says that it is short.
        if band in named or not _draw_inside(drawing, lines, band, start, end):
            left_out.append(band.strake)
    return left_out


def _draw_gutter(drawing, lines, frame, bounds, ahead):
    """Write short strakes at the bow, each with a thin leader to its nib; return those that do not fit."""
    size = 17.0
    fits = max(int((bounds[1] - bounds[0] - 20) // size), 0)
    chosen, rest = ahead[:fits], ahead[fits:]
    wanted = [_end_height(lines, band) for band, _end in chosen]
    x = lines.bow + 10
    heights = spread(wanted, [size] * len(chosen), bounds[0] + 6, bounds[1] - 14)
    for (band, end), y in zip(chosen, heights, strict=True):
        nib = band.middle(end)[0]
        drawing.path("p-leader", f"M{number(end)} {number(nib)}L{number(x - 3)} {number(y)}")
        drawing.add(f'<circle class="p-point" cx="{number(end)}" cy="{number(nib)}" r="1.8"/>')
        words = _("%(strake)s drop") if band.strake.kind != "stealer" else _("%(strake)s stealer")
        said = words % {"strake": band.strake.label}
        drawing.text("p-label", x, middle_baseline(y, "p-label"), said, room=drawing.width - x)
    return [band.strake for band, _end in rest]


def _end_height(lines, band):
    """Return where a short strake would come out at the bow, between the two that go on."""
    curve = band.pieces[-1].outer
    return (curve.at(lines.bow)[0] + band.pieces[-1].inner.at(lines.bow)[0]) / 2


def _draw_inside(drawing, lines, band, start, end):
    """Name a short strake on itself, or just past its nib, where no other word stands."""
    words = one_line(band.strake.label)
    half = place("p-label", 0, 0, words, 44)[1].right / 2
    past = end + half + 5 if end < lines.bow - 1 else start - half - 5
    for x in ((start + end) / 2, past):
        holds = end - start > 2 * half + 8 or x == past
        at = band.middle(min(max(x, start), end))
        if not holds or at is None or not lines.stern < x - half < x + half < lines.bow:
            continue
        y = middle_baseline(at[0], "p-label")
        if drawing.text_if_free("p-label p-mid p-halo", x, y, words, room=44, clear=1):
            return True
    return False


def draw_belts(drawing, lines, frame, bounds):
    """Bracket the belts at the stern and write each one's name and finding beside it."""
    belts = [(belt, *_belt_reach(lines, index, belt)) for index, opening in enumerate(lines.side.openings)
             for belt in opening.belts]  # fmt: skip
    belts, sizes = _belts_that_fit(belts, bounds[1] - bounds[0], 43.0 if frame.finding == "p-find" else 39.0)
    middles = spread([(low + high) / 2 for _belt, low, high in belts], sizes, *bounds)
    bracket, words = lines.stern - 14, lines.stern - 26
    for (belt, low, high), middle, size in zip(belts, middles, sizes, strict=True):
        top, bottom = low + 1.5, max(high - 1.5, low + 4)
        drawing.path(
            "p-bracket",
            f"M{number(bracket + 6)} {number(top)}H{number(bracket)}V{number(bottom)}H{number(bracket + 6)}",
        )
        if not low <= middle <= high:
            start = f"M{number(bracket)} {number((low + high) / 2)}"
            drawing.path("p-leader", f"{start}L{number(words + 3)} {number(middle)}")
        _belt_words(drawing, belt, words, middle, size, frame)


def _belt_reach(lines, opening, belt):
    """Return the heights a belt spans at the stern, the upper first."""
    group = [band for band in lines.bands if band.opening == opening]
    low = _line_at_stern(lines, group, belt.first, "inner")
    high = _line_at_stern(lines, group, belt.last, "outer")
    return min(low, high), max(low, high)


def _line_at_stern(lines, group, index, which):
    band = group[index]
    if band.pieces:
        piece = band.pieces[0]
        return (piece.inner if which == "inner" else piece.outer).at(lines.stern)[0]
    return lines.fixed[band.opening][0].at(lines.stern)[0]


def _belts_that_fit(belts, room, tall):
    """Thin belts out until their words fit: first the second lines of quiet ones, then quiet belts whole."""
    loud = [belt for belt in belts if belt[0].tone in ("wide", "narrow")]
    for chosen, size in (
        (belts, {belt[0]: tall if belt[0].finding else 18.0 for belt in belts}),
        (belts, {belt[0]: tall if belt in loud else 18.0 for belt in belts}),
        (loud, {belt[0]: tall for belt in loud}),
        (loud, {belt[0]: 20.0 for belt in loud}),
    ):
        sizes = [size[belt[0]] for belt in chosen]
        if sum(sizes) <= room:
            return chosen, sizes
    fits = max(int(room // 20), 0)
    return loud[:fits], [20.0] * min(fits, len(loud))


def _belt_words(drawing, belt, x, middle, size, frame):
    """Write the name over the finding, or the one that matters where there is one line."""
    loud = belt.tone in ("wide", "narrow")
    finding = SIGNS[belt.tone] + one_line(belt.finding)
    classes = f"{frame.finding} p-end p-{belt.tone}" if loud else "p-small p-end"
    if size < 30:
        words, style = (finding, classes) if loud else (belt.name, "p-label p-end")
        drawing.text(style, x, middle_baseline(middle, style), words, room=x, tips=belt.name)
        return
    drawing.text("p-label p-end", x, middle - 4, belt.name, room=x)
    drawing.text(classes, x, middle + (17 if frame.finding == "p-find" and loud else 14), finding, room=x)
