"""Drift lines: what each run has added up to, strake by strake, until both meet at the closing strake.

Strakes stand in the order they were hung, the run from the wale from one end, the run from the keel from the
other. A line over nought eats the gap, a line under it opens the gap. At most three stations are drawn, each
with its own stroke, named in a small table over the lines.
"""

from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from .axes import Scale, signed
from .checks import finite, one_of
from .drawing import Drawing, middle_baseline, number, one_line
from .text_widths import elided, width_of, wrapped

SIDES = {"port": "■", "starboard": "●"}
MOST_LINES = 3


@dataclass(frozen=True, slots=True)
class DriftLine:
    """The running sums at one station, mm over plan: one after each strake hung, in the order of hanging.

    ``to_wale`` and ``to_keel`` are where the runs are heading when they reach the closing strake, left alone.
    """

    station: str
    from_wale: tuple[float, ...] = ()
    from_keel: tuple[float, ...] = ()
    is_dead_flat: bool = False
    to_wale: float | None = None
    to_keel: float | None = None

    def __post_init__(self):
        """Refuse sums that are not numbers."""
        for value in (self.to_wale, self.to_keel):
            if value is not None:
                finite(value, f"A forecast at {self.station}")
        for value in (*self.from_wale, *self.from_keel):
            finite(value, f"A sum at {self.station}")


@dataclass(frozen=True, slots=True)
class Forecast:
    """Where a run is heading when it reaches the closing strake: mm over plan, give or take."""

    mm: float
    give_or_take_mm: float = 0.0

    def __post_init__(self):
        """Refuse a forecast that cannot be drawn."""
        finite(self.mm, "The forecast")
        if finite(self.give_or_take_mm, "The spread of the forecast") < 0:
            raise ValueError("The spread of the forecast is below zero.")


@dataclass(frozen=True, slots=True)
class Drift:
    """Both runs of an opening. Strakes are named from the wale to the keel; closing counts from the wale."""

    side: str
    strakes: tuple[str, ...]
    lines: tuple[DriftLine, ...]
    limit_mm: float
    closing: int | None = None
    forecast_wale: Forecast | None = None
    forecast_keel: Forecast | None = None
    result: tuple[str, ...] = field(default=())

    def __post_init__(self):
        """Refuse runs that are longer than the strakes there are."""
        one_of(self.side, tuple(SIDES), "The side")
        if finite(self.limit_mm, "The limit") < 0:
            raise ValueError("The limit is below zero.")
        if not self.strakes:
            raise ValueError("Drift lines need one strake at least.")
        if self.closing is not None and not 0 <= self.closing < len(self.strakes):
            raise ValueError("The closing strake is not among the strakes.")
        for line in self.lines[:MOST_LINES]:
            if len(line.from_wale) + len(line.from_keel) > len(self.strakes):
                raise ValueError(f"The runs at {line.station} have more sums than there are strakes.")

    @property
    def drawn(self):
        """Return (line, stroke) for the stations drawn: solid for dead flat, then dashes, then dots."""
        strokes = ["p-line-dash", "p-line-dot", "p-line-solid"]
        chosen = self.lines[:MOST_LINES]
        flat = next((line for line in chosen if line.is_dead_flat), chosen[0] if chosen else None)
        return [(line, "p-line-solid" if line is flat else strokes.pop(0)) for line in chosen]


def drift_lines(drift, width=566, *, summary, key="drift-lines"):
    """Return the drift lines of one side: 328 wide for a phone, 566 for half a desk, more for a whole one."""
    return _Lines(drift, width, f"{key}-{width}").picture(summary)


class _Lines:
    """One picture being drawn."""

    def __init__(self, drift, width, key):
        self.drift, self.drawing = drift, Drawing(width, key)
        self.narrow = width < 480

    def picture(self, summary):
        """Write the heading, the table and the result, then draw the lines under them."""
        side = _("PORT") if self.drift.side == "port" else _("STARBOARD")
        self.drawing.text("p-side", 0, 22, f"{SIDES[self.drift.side]} {side}")
        table_bottom, table_right = self._table(42.0)
        result_bottom = self._result(table_right, table_bottom)
        top = max(table_bottom, result_bottom) + 38
        self._lay_out(top)
        self._draw_limit()
        self.scale.draw(self.drawing, self.left, self.right, with_sign=True)
        self.scale.draw_nought(self.drawing, self.left, self.right)
        self._draw_closing()
        self._draw_forecasts()
        for line, stroke in self.drift.drawn:
            self.drawing.path(stroke, self._run(line.from_wale, self.left, 1))
            self.drawing.path(stroke, self._run(line.from_keel, self.right, -1))
        return self.drawing.picture(self._words(), summary)

    def _table(self, top):
        """Write each station with its own stroke and where its runs stand now; return (bottom, right)."""
        y, columns = top + 12, (118.0, 200.0)
        self.drawing.text("p-small p-end", columns[0], y, _("from wale"), room=80)
        self.drawing.text("p-small p-end", columns[1], y, _("from keel"), room=76)
        for line, stroke in self.drift.drawn:
            y += 20
            self.drawing.path(stroke, f"M0 {number(y - 4.5)}H28")
            self.drawing.text("p-label", 36, y, line.station, room=38)
            for x, sums in zip(columns, (line.from_wale, line.from_keel), strict=True):
                self.drawing.text(
                    "p-label p-end", x, y, signed(sums[-1]) if sums else "–", room=76 if x > 150 else 42
                )
        if self.narrow and self.drift.limit_mm:
            y += 20
            self.drawing.rect("p-limit", 0, y - 11, 28, 13)
            self.drawing.text(
                "p-label", 36, y, _("limit %(limit)s") % {"limit": f"±{self.drift.limit_mm:.2f}"}
            )
        return y + 6, columns[1]

    def _result(self, left, bottom):
        """Write what comes of it beside the table, or under it on a phone."""
        x, y = (0.0, bottom + 4) if self.narrow else (left + 34, 42.0)
        for index, words in enumerate(self.drift.result):
            classes, size, step = ("p-find", 17.0, 23) if not index else ("p-label", 13.5, 19)
            for line in wrapped(words, size, self.drawing.width - x):
                y += step
                self.drawing.text(classes, x, y, line)
        return y

    def _lay_out(self, top):
        drift = self.drift
        values = [0.0, drift.limit_mm * 1.15, -drift.limit_mm * 1.15]
        for line, _stroke in drift.drawn:
            values += [*line.from_wale, *line.from_keel]
            values += [value for value in (line.to_wale, line.to_keel) if value is not None]
        for forecast in (drift.forecast_wale, drift.forecast_keel):
            if forecast:
                values += [forecast.mm + forecast.give_or_take_mm, forecast.mm - forecast.give_or_take_mm]
        bottom = top + (230 if self.narrow else 250)
        self.scale = Scale(min(values), max(values), top, bottom)
        self.left = self.scale.gutter(with_sign=True) + 12
        self.right = self.drawing.width - (4 if self.narrow else 46)
        self.column = (self.right - self.left) / len(drift.strakes)

    def _run(self, sums, start, way):
        """Return the line of one run: nought at its fixed line, then the sum after each strake."""
        if not sums:
            return ""
        places = [
            (start, 0.0),
            *((start + way * self.column * (i + 1), value) for i, value in enumerate(sums)),
        ]
        return "M" + "L".join(f"{number(x)} {number(self.scale.y(value))}" for x, value in places)

    def _draw_limit(self):
        top, bottom = self.scale.y(self.drift.limit_mm), self.scale.y(-self.drift.limit_mm)
        self.drawing.rect("p-limit", self.left, top, self.right - self.left, bottom - top)
        if self.narrow:
            return
        for y in (top, bottom):
            self.drawing.text_if_free(
                "p-small", self.right + 6, middle_baseline(y, "p-small"), _("limit"), room=40
            )

    def _closing_edges(self):
        """Return the two edges of the closing strake's column, a little in from its neighbours."""
        left = self.left + self.column * self.drift.closing
        inset = min(self.column * 0.06, 2.0)
        return left + inset, left + self.column - inset

    def _draw_closing(self):
        if self.drift.closing is None:
            return
        left, right = self._closing_edges()
        top, bottom = self.scale.top - 12, self.scale.bottom + 10
        self.drawing.rect("p-closing", left, top, right - left, bottom - top)
        self.drawing.rect("p-closing-line", left, top, right - left, bottom - top)

    def _draw_forecasts(self):
        """Draw where each line goes on to, up to the closing strake; that of dead flat with its spread."""
        ends = self._closing_edges() if self.drift.closing is not None else (self.right, self.left)
        for line, stroke in sorted(self.drift.drawn, key=lambda pair: pair[1] != "p-line-solid"):
            for runs_to, forecast, sums, start, way, end in (
                (line.to_wale, self.drift.forecast_wale, line.from_wale, self.left, 1, ends[0]),
                (line.to_keel, self.drift.forecast_keel, line.from_keel, self.right, -1, ends[1]),
            ):
                x, value = start + way * self.column * len(sums), sums[-1] if sums else 0.0
                if stroke == "p-line-solid" and forecast is not None:
                    self._fan(forecast, x, value, end)
                elif runs_to is not None:
                    self._goes_on(x, value, end, runs_to, radius=3)

    def _goes_on(self, x, value, end, to, radius):
        y, tip = self.scale.y(value), self.scale.y(to)
        self.drawing.path("p-line-dot", f"M{number(x)} {number(y)}L{number(end)} {number(tip)}")
        self.drawing.add(f'<circle class="p-point" cx="{number(end)}" cy="{number(tip)}" r="{radius}"/>')

    def _fan(self, forecast, x, value, end):
        y = self.scale.y(value)
        high = self.scale.y(forecast.mm + forecast.give_or_take_mm)
        low = self.scale.y(forecast.mm - forecast.give_or_take_mm)
        self.drawing.path("p-fan", f"M{number(x)} {number(y)}L{number(end)} {number(high)}V{number(low)}z")
        self._goes_on(x, value, end, forecast.mm, radius=4.5)

    def _words(self):
        """Name the strakes, the runs and which way is which; return the height of the sheet."""
        top, bottom = self.scale.top, self.scale.bottom
        self.drawing.text(
            "p-label p-wide", self.left, top - 16, _("▲ eats the gap, mm"), room=self._beside_closing()
        )
        below = bottom + 20
        self.drawing.text(
            "p-label p-narrow", self.left, below, _("▼ opens the gap"), room=self._beside_closing()
        )
        y = below + 24
        self._name_strakes(y)
        y += 21
        if any(line.from_wale for line, _stroke in self.drift.drawn) or self.drift.closing is not None:
            self.drawing.text_if_free("p-label", self.left, y, _("from the wale →"), clear=6)
        if any(line.from_keel for line, _stroke in self.drift.drawn) or self.drift.closing is not None:
            self.drawing.text_if_free("p-label p-end", self.right, y, _("← from the keel"), clear=6)
        if self.drift.closing is not None:
            left, right = self._closing_edges()
            self.drawing.text_if_free("p-label p-mid", (left + right) / 2, y, _("closing"), clear=6)
        return y + 10

    def _name_strakes(self, y):
        """Name the strakes under their columns; where narrow each second, third or fifth."""
        strakes, base = self.drift.strakes, self.drift.closing or 0
        widest = max(width_of(elided(one_line(words), 13.5, 44.0), 13.5) for words in strakes)
        every = next((step for step in (1, 2, 3, 5, 10) if step * self.column >= widest + 4), 20)
        order = sorted(
            range(len(strakes)), key=lambda index: (index != base, (index - base) % every != 0, index)
        )
        for index in order:
            if (index - base) % every == 0:
                x = self.left + self.column * (index + 0.5)
                self.drawing.text_if_free("p-label p-mid", x, y, strakes[index], room=44.0, clear=3)

    def _beside_closing(self):
        """Return the room for words at the left of the plot, clear of the closing column."""
        room = self.right - self.left
        if self.drift.closing is not None:
            before = self._closing_edges()[0] - self.left - 8
            room = before if before > 40 else room
        return min(room, 220.0)
