"""The strake sheet: one strake straightened on its own middle line, its figures under the stations."""

from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from .checks import finite, one_of
from .cut_card import upper_edge
from .drawing import Drawing, middle_baseline, number
from .hull import Hull, HullOpening, HullSide, HullStation, HullStrake
from .hull_lines import SideLines, along_hull, drawn_widths, station_places
from .patterns import patterns, used_patterns
from .plank_fills import butt_bars, draw_planks
from .plank_labels import draw_names
from .text_widths import wrapped

SIDES = ("port", "starboard")


@dataclass(frozen=True, slots=True)
class Clash:
    """A butt that breaks a rule, and what is said of it."""

    x_mm: float
    words: str = ""

    def __post_init__(self):
        """Refuse a place that is not a number."""
        finite(self.x_mm, "The place of a butt")


@dataclass(frozen=True, slots=True)
class StrakeSheet:
    """One strake of a side; planks are the names of its planks from aft to forward, between its butts."""

    side: str
    stations: tuple[HullStation, ...]
    strake: HullStrake
    planks: tuple[str, ...] = ()
    clashes: tuple[Clash, ...] = ()
    steps_mm: tuple[float, float, float] = field(default=(0.03, 0.06, 0.09))

    def __post_init__(self):
        """Refuse what a hull would refuse."""
        one_of(self.side, SIDES, "The side")
        self.hull()

    def hull(self):
        """Return a hull of this one strake, so that it is checked and laid out as any other."""
        return Hull(self.stations, (HullSide(self.side, (HullOpening((self.strake,)),)),), self.steps_mm)


def strake_sheet(sheet, width=1178, *, summary, key="strake-sheet"):
    """Return the sheet of one strake for one cut."""
    return _Sheet(sheet, width, f"{key}-{width}").picture(summary)


class _Sheet:
    """One sheet being drawn."""

    def __init__(self, sheet, width, key):
        self.sheet, self.drawing = sheet, Drawing(width, key)
        self.narrow = width < 480
        hull, ends = sheet.hull(), ((16.0, width - 16.0) if self.narrow else (30.0, width - 78.0))
        self.xs = station_places(hull, *ends)
        opening = hull.sides[0].openings[0]
        widest = (
            max((width for row in drawn_widths(opening, len(self.xs)) for width in row), default=0) or 1.0
        )
        per_mm, self.times = _scale(hull, (36.0 if self.narrow else 46.0) / widest, ends[1] - ends[0])
        along = along_hull(hull, self.xs)
        self.lines = SideLines(hull.sides[0], self.xs, per_mm, outward=1, along=along, ends=ends)
        self.letters = 44.0 if self.narrow else 20.0
        self.middle = self.letters + 62.0
        self.lines.straighten(self.middle)
        self.half = self.lines.extent / 2

    def picture(self, summary):
        """Draw the strake, its joints, its names and its figures."""
        names_to = self.middle + self.half + 44
        draw_names(self.drawing, self.sheet.stations, self.xs, (self.letters,), self.letters + 8, names_to)
        draw_planks(self.drawing, self.lines, self.sheet.steps_mm)
        for edge in ("inner", "outer"):
            self.drawing.path("p-free", "".join(band.edge(edge) for band in self.lines.bands))
        self._draw_ends()
        self.drawing.path("p-butt", butt_bars(self.lines))
        bow = (self.drawing.width, 18.0) if self.narrow else (self.drawing.width, self.middle + 5)
        self.drawing.text("p-label p-end", *bow, _("BOW →"))
        self._draw_clashes()
        self._draw_planks()
        y = self._draw_figures(names_to + 18)
        height = self._draw_note(y + 6)
        return self.drawing.picture(
            height, summary, defs=patterns(self.drawing.key, used_patterns(self.drawing))
        )

    def _draw_ends(self):
        d = []
        for band in self.lines.bands:
            for x in (x for stretch in band.stretches for x in stretch):
                middle, height = band.middle(x)
                d.append(f"M{number(x)} {number(middle - height / 2)}v{number(height)}")
        self.drawing.path("p-free", "".join(d))

    def _draw_clashes(self):
        """Ring each butt that breaks a rule, and say so under it."""
        for clash in self.sheet.clashes:
            if not self.lines.along:
                return
            x, radius = self.lines.along(clash.x_mm), self.half + 8
            self.drawing.add(
                f'<circle class="p-ring" cx="{number(x)}" cy="{number(self.middle)}" r="{number(radius)}"/>'
            )
            y = self.middle + radius + 17
            for style, at in (
                ("p-label", x + radius * 0.8),
                ("p-label p-end", x - radius * 0.8),
                ("p-label p-mid", x),
            ):
                if clash.words and self.drawing.text_if_free(style, at, y, clash.words, clear=4):
                    break

    def _draw_planks(self):
        """Write the name of each plank in its middle, where it has room."""
        band = self.lines.bands[0]
        if not band.stretches or not self.lines.along:
            return
        start, end = band.stretches[0][0], band.stretches[-1][1]
        butts = sorted(self.lines.along(x) for x in self.sheet.strake.butts_mm)
        places = [start, *(x for x in butts if start < x < end), end]
        for name, left, right in zip(self.sheet.planks, places, places[1:], strict=False):
            x, baseline = (left + right) / 2, middle_baseline(self.middle, "p-label")
            self.drawing.text_if_free(
                "p-label p-mid p-halo", x, baseline, name, room=right - left - 10, clear=4
            )

    def _draw_figures(self, y):
        """Write under each station how far it came out off plan, on two lines where they stand close."""
        strake, lowest = self.sheet.strake, y
        known = [(index, value) for index, value in enumerate(strake.deviations_mm) if value is not None]
        for index, value in sorted(known, key=lambda item: -abs(item[1])):
            style, words = _figure(value, self.sheet.steps_mm[0])
            for row in (0, 1):
                if self.drawing.text_if_free(f"{style} p-mid", self.xs[index], y + row * 19, words, clear=4):
                    lowest = max(lowest, y + row * 19)
                    break
        return lowest

    def _draw_note(self, y):
        """Say which line is which, how it was stretched, and that it was straightened."""
        edges = [_("keel side"), _("wale side")]
        upper, lower = edges if upper_edge(self.sheet.side) == "keel" else reversed(edges)
        said = [_("upper line: %(edge)s") % {"edge": upper}, _("lower line: %(edge)s") % {"edge": lower}]
        if self.times is not None:
            said.append(_("widths drawn %(times)s times the lengths") % {"times": f"{self.times:g}"})
        said.append(_("straightened, outer face up"))
        for line in wrapped(" · ".join(said), 12.5, self.drawing.width):
            y += 18
            self.drawing.text("p-small", 0, y, line)
        return y + 8


def _figure(value, noise):
    """Return the class and the words of a deviation; within the noise it is said without a sign."""
    if abs(value) < noise - 1e-9:
        return "p-small", f"{abs(value):.2f}"
    sign, tone = ("▲", "p-wide") if value > 0 else ("▼", "p-narrow")
    return f"p-label {tone}", f"{sign} {abs(value):.2f}"


def _scale(hull, per_mm, length):
    """Return px a mm of width, by a factor that can be said, and the factor (None: lengths unknown)."""
    if not hull.is_placed or len(hull.stations) < 2 or not hull.is_measured:
        return per_mm, None
    along = length / (hull.stations[-1].x_mm - hull.stations[0].x_mm)
    times = float(f"{per_mm / along:.2g}")
    return times * along, times
