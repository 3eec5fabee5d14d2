"""The plank map: the hull unrolled, each side as seen from outside, bow to the right.

Both sides together: keel in the middle, starboard above it, port below; one side alone lies the same way.
Each strake is a band of its own planned width, filled by how far it came out off plan.
"""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from .drawing import Drawing, middle_baseline, number
from .gap_tags import GapTags
from .hull_lines import SideLines, along_hull, drawn_widths, station_places
from .patterns import patterns, used_patterns
from .plank_fills import draw_side
from .plank_key import draw_key
from .plank_labels import draw_belts, draw_ends, draw_names, draw_numbers, number_column

KEEL = 18.0


@dataclass(frozen=True, slots=True)
class Frame:
    """What a cut gives each part, px; pitch: how high a usual strake is drawn, tall: a side at most."""

    left: float
    right: float
    pitch: float
    tall: float
    finding: str = "p-label"
    gutters: bool = True
    tags: int = 3
    heading_inline: bool = False


WIDE = Frame(194, 64, 14.4, 470, "p-find", heading_inline=True)
MIDDLE = Frame(164, 64, 14.4, 430, tags=2)
NARROW = Frame(14, 24, 14.6, 520, gutters=False, tags=1)


def plank_map(hull, width=1178, *, summary, key="plank-map", plain=False):
    """Return the map for one cut; plain is the club's form, without deviation, numbers or belts."""
    return _Map(hull, width, f"{key}-{width}", plain).picture(summary)


def frame_for(width, plain):
    """Return the frame of a cut; the plain form has no gutters but the arrow's."""
    frame = NARROW if width < 480 else MIDDLE if width < 1000 else WIDE
    if plain:
        left, right = (14, 26) if width < 480 else (14, 44)
        return Frame(left, right, 8.6, 240 if width < 1000 else 300, gutters=False, tags=0)
    return frame


class _Map:
    """One map being drawn."""

    def __init__(self, hull, width, key, plain):
        self.hull, self.plain = hull, plain
        self.frame = frame_for(width, plain)
        self.drawing = Drawing(width, key)
        self.stern, self.bow = self.frame.left, width - self.frame.right
        self.xs = station_places(hull, self.stern, self.bow)
        self.along = along_hull(hull, self.xs)
        self.per_mm, self.times = _scale(hull, self.frame, self.bow - self.stern)
        self.sides = {
            side.side: SideLines(
                side,
                self.xs,
                self.per_mm,
                outward=-1 if side.side == "starboard" else 1,
                along=self.along,
                ends=(self.stern, self.bow),
            )
            for side in hull.sides
        }
        self.unlabelled = []
        self.column = None if plain else number_column(list(self.sides.values()))
        self.tags = {
            name: GapTags(lines, self.frame.tags, self.column, (self.stern, self.bow))
            for name, lines in self.sides.items()
        }

    def picture(self, summary):
        """Draw every part in its order and return the picture."""
        top = self._top_of_hull()
        self.keel_top = top + (self.sides["starboard"].extent if "starboard" in self.sides else 0)
        self.keel_bottom = self.keel_top + KEEL
        self.bottom = self.keel_bottom + (self.sides["port"].extent if "port" in self.sides else 0)
        self.low = self.bottom + (self.tags["port"].lane if "port" in self.tags else 0)
        names_at = self.low + 34
        end = self._headings(names_at)
        stations, baselines = self.hull.stations, (self.letters, names_at)
        draw_names(self.drawing, stations, self.xs, baselines, self.letters + 8, names_at - 18)
        self._draw_keel()
        for name, lines in self.sides.items():
            self._draw_side(name, lines)
        height = draw_key(self.drawing, self, end + 16)
        return self.drawing.picture(
            height, summary, defs=patterns(self.drawing.key, used_patterns(self.drawing))
        )

    def _top_of_hull(self):
        """Place the upper station names under the heading; return where the hull begins."""
        self.letters = 20.0 if self.frame.heading_inline or self.plain else 50.0
        if "starboard" not in self.sides:
            self.letters = 20.0
        lane = self.tags["starboard"].lane if "starboard" in self.tags else 0
        return self.letters + 24 + lane

    def _keel_of(self, name):
        return self.keel_top if name == "starboard" else self.keel_bottom

    def _draw_side(self, name, lines):
        """Draw one side in coordinates that begin at the keel, then its words."""
        keel = self._keel_of(name)
        lines.shift(keel)
        draw_side(self.drawing, lines, self.hull.steps_mm, plain=self.plain)
        if self.plain:
            return
        named = draw_numbers(self.drawing, lines, self.column)
        self.tags[name].draw(self.drawing, keel)
        starboard = name == "starboard"
        bounds = (self.letters + 8, self.keel_top) if starboard else (self.keel_bottom, self.low + 20)
        self.unlabelled += draw_ends(self.drawing, lines, self.frame, bounds, named)
        if self.frame.gutters:
            draw_belts(self.drawing, lines, self.frame, bounds)

    def _draw_keel(self):
        """Draw the keel bar with its arrow, which leaves the hull at the bow."""
        stern, bow, middle = self.stern, self.bow, (self.keel_top + self.keel_bottom) / 2
        tip = self.drawing.width - 2
        head = min(20.0, tip - bow - 2)
        top, low = self.keel_top + 1, self.keel_bottom - 1
        self.drawing.path(
            "p-keel",
            f"M{number(stern)} {number(top)}H{number(tip - head)}V{number(top - 4)}"
            f"L{number(tip)} {number(middle)}"
            f"L{number(tip - head)} {number(low + 4)}V{number(low)}H{number(stern)}z",
        )
        base = middle_baseline(middle, "p-label")
        room = (bow - stern) / 2 - 40
        self.drawing.text("p-label p-on-keel", stern + 10, base, _("KEEL"), room=room)
        arrow = bow - 8
        words = self.drawing.text("p-label p-on-keel p-end", arrow - 34, base, _("BOW"), room=room)
        if words.left > stern:
            self.drawing.path(
                "p-on-keel-line",
                f"M{number(arrow - 27)} {number(middle)}H{number(arrow)}m-6 -4.5l6 4.5l-6 4.5",
            )

    def _headings(self, names_at):
        """Write which side is which, with its sign; return where the last line stands."""
        if self.plain:
            return names_at
        inline = self.frame.heading_inline
        x = 0.0
        if "starboard" in self.sides:
            self.drawing.text("p-side", x, self.letters if inline else 22, _("● STARBOARD"))
        if "port" not in self.sides:
            return names_at
        y = names_at if inline else names_at + 30
        self.drawing.text("p-side", x, y, _("■ PORT"))
        return y


def _scale(hull, frame, length):
    """Return px a mm of width, and how many times the lengths' scale that is (None: no lengths known)."""
    count = len(hull.stations)
    girths, widths, most = [1e-9], [], 1
    for side in hull.sides:
        rows = [row for opening in side.openings for row in drawn_widths(opening, count)]
        girths += [sum(row[station] for row in rows) for station in range(count)]
        widths += [max(row) for row in rows if max(row) > 0]
        most = max(most, len(rows))
    usual = sorted(widths)[len(widths) // 2] if widths else 1.0
    pitch = max(frame.pitch, min(36.0, 250.0 / most)) if frame.tags else frame.pitch
    per_mm = min(pitch / usual, frame.tall / max(girths))
    if not hull.is_placed or count < 2 or not hull.is_measured:
        return per_mm, None
    along = length / (hull.stations[-1].x_mm - hull.stations[0].x_mm)
    times = per_mm / along
    rounded = float(f"{times:.2g}") if times < 100 else round(times)
    return rounded * along, rounded
