"""Tags that say what is between the free edges, each beside its own dimension line; broken where nobody read it.

A tag stands inside the gap where it clears both free edges; where the gap is too small for it, it stands
outside the wale with a leader. A tag never stands on a seam it speaks of, nor on another label.
"""

from dataclasses import dataclass
from itertools import combinations, product

from django.utils.translation import gettext as _

from .drawing import Box, number, one_line
from .text_widths import elided, width_of

FIGURE, WORDS = 17.0, 13.5
RECKONED = "p-tag p-line-dash"
LANE, BESIDE = 12.0, 7.0
# Of so many stations with room for a tag, those that go together are sought.
MOST_TRIED = 6


@dataclass(frozen=True, slots=True)
class _Tag:
    gap: object
    x: float
    edges: tuple[float, float]
    box: Box
    outside: bool


class GapTags:
    """The tags of one side, placed before the sheet is laid out, the keel at height 0."""

    def __init__(self, lines, count, column, ends):
        """Place as many tags as are asked for, the worst and then the caller's first ones first.

        One that finds no room in the gap gives way to the next, all but the worst. Where none finds any, all of them
        are told outside.
        """
        self.lines, self.column, self.ends = lines, column, ends
        self.placed = []
        known = [(gap, index) for index, opening in enumerate(lines.side.openings) for gap in opening.gaps]
        known.sort(key=lambda item: not item[0].is_worst)
        able = [item for item in known if self._inside(*item, (1, -1))] if count else []
        for chosen in combinations(able[:MOST_TRIED], min(count, len(able))):
            if chosen[:1] == tuple(known[:1]) and not self.placed:
                self._place_together(chosen)
        if not self.placed:
            self._place_one_by_one(known, count)
        outside = [tag.box.bottom - tag.box.top for tag in self.placed if tag.outside]
        self.lane = max(outside) + LANE + 4 if outside else 0.0

    def _size(self, gap):
        room = min(150.0, (self.ends[1] - self.ends[0]) * 0.5)
        figure = elided(one_line(gap.figure), FIGURE, room)
        words = elided(one_line(gap.words), WORDS, room)
        top = width_of(figure, FIGURE) + (0 if gap.is_read else BESIDE + width_of(_("reckoned"), WORDS))
        return max(top, width_of(words, WORDS)) + 21, 45.0 if words else 26.0

    def _place_together(self, wanted):
        """Try which tags stand forward and which aft of their lines, until all of them stand inside."""
        for ways in product((1, -1), repeat=len(wanted)):
            self.placed = []
            for (gap, opening), way in zip(wanted, ways, strict=True):
                tag = self._inside(gap, opening, (way,))
                if not tag:
                    break
                self.placed.append(tag)
            else:
                return
        self.placed = []

    def _place_one_by_one(self, known, count):
        self._add(known[:1], count, lambda *at: self._inside(*at, (1, -1)) or self._outside(*at))
        self._add(known[1:], count, lambda *at: self._inside(*at, (1, -1)))
        if all(tag.outside for tag in self.placed):
            self.placed = []
            self._add(known[:count], count, self._outside)

    def _add(self, known, count, place):
        for gap, opening in known:
            tag = place(gap, opening) if len(self.placed) < count else None
            self.placed += [tag] if tag else []

    def _inside(self, gap, opening, ways):
        x = self.lines.xs[gap.station]
        edges = self.lines.gap_at(opening, x)
        if not edges:
            return None
        width, height = self._size(gap)
        for way in ways:
            left = x + 7 if way > 0 else x - 7 - width
            box = self._clear(left, width, height, opening)
            if box and self._is_free(box, x):
                return _Tag(gap, x, edges, box, False)
        return None

    def _clear(self, left, width, height, opening):
        """Return the box in the middle of the gap, if it clears both edges all along."""
        if left < self.ends[0] + 2 or left + width > self.ends[1] - 2:
            return None
        zones = [self.lines.gap_at(opening, left + width * share) for share in (0, 0.25, 0.5, 0.75, 1)]
        if not all(zones):
            return None
        top = max(min(zone) for zone in zones) + 4
        bottom = min(max(zone) for zone in zones) - 4
        if bottom - top < height:
            return None
        y = (top + bottom - height) / 2
        return Box(left, y, left + width, y + height)

    def _outside(self, gap, opening):
        """Return a place beyond the wale, as near the station as is free."""
        x = self.lines.xs[gap.station]
        edges = self.lines.gap_at(opening, x)
        if not edges:
            return None
        width, height = self._size(gap)
        near = self.lines.extent + LANE
        top = near if self.lines.outward > 0 else -near - height
        for step in range(0, 12):
            for way in (1, -1):
                left = x - width / 2 + way * step * 14
                left = min(max(left, self.ends[0]), self.ends[1] - width)
                box = Box(left, top, left + width, top + height)
                if left <= x <= left + width and self._is_free(box, x, beside_column=True):
                    return _Tag(gap, x, edges, box, True)
        return None

    def _is_free(self, box, x, *, beside_column=False):
        if not beside_column and self.column is not None and box.left - 16 < self.column < box.right + 16:
            return False
        for tag in self.placed:
            line = Box(tag.x, min(tag.edges), tag.x, max(tag.edges))
            own = Box(x, min(tag.edges), x, max(tag.edges))
            if box.touches(tag.box, 6) or box.touches(line, 6) or own.touches(tag.box, 4):
                return False
        return True

    def draw(self, drawing, keel):
        """Draw the dimension lines and the tags, the keel standing at a height of the sheet."""
        for tag in self.placed:
            _dimension(drawing, tag, keel)
        for tag in self.placed:
            _tag(drawing, tag, keel)


def _dimension(drawing, tag, keel):
    low, high = min(tag.edges) + keel + 2, max(tag.edges) + keel - 2
    x = number(tag.x)
    heads = ""
    if high - low >= 14:
        left, right = number(tag.x - 4), number(tag.x + 4)
        heads = (
            f"M{left} {number(low + 6.5)}L{x} {number(low)}L{right} {number(low + 6.5)}"
            f"M{left} {number(high - 6.5)}L{x} {number(high)}L{right} {number(high - 6.5)}"
        )
    drawing.path("p-arrow", f"M{x} {number(low)}V{number(max(high, low + 0.5))}{heads}")
    if tag.outside:
        near = tag.box.bottom if tag.box.bottom < min(tag.edges) else tag.box.top
        drawing.line("p-leader", tag.x, (low + high) / 2, tag.x, near + keel)


def _tag(drawing, tag, keel):
    box = Box(tag.box.left, tag.box.top + keel, tag.box.right, tag.box.bottom + keel)
    worst = tag.gap.is_worst and tag.gap.is_read
    classes = "p-tag-worst" if worst else "p-tag" if tag.gap.is_read else RECKONED
    drawing.rect(classes, box.left, box.top, box.right - box.left, box.bottom - box.top)
    drawing.taken.append(box)
    tone = " p-reversed" if worst else ""
    room = box.right - box.left - 20
    beside = 0 if tag.gap.is_read else BESIDE + width_of(_("reckoned"), WORDS)
    figure = drawing.text("p-find" + tone, box.left + 10, box.top + 18.5, tag.gap.figure, room=room - beside)
    if beside:
        drawing.text("p-label", figure.right + BESIDE, box.top + 18.5, _("reckoned"))
    if tag.gap.words:
        drawing.text("p-label" + tone, box.left + 10, box.top + 37, tag.gap.words, room=room)
