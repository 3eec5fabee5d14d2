"""The two runs of an opening and where they are heading, as the drift lines are told it.

What is foretold is the closing strake, and so what both runs will have taken together: its planned width less its
expected one, seams and girth with it. A line stands now at the sum of its widths; what is still to come, up to that
total, is split over the two runs by the planned widths of the strakes left in each, and the spread with it, so
that the two dots together are the total and the two fans together its interval of 95 in 100. A run with none left
to hang is foretold nothing: it stands as it was read.

Two figures of one strake stand here, and each says what it supposes: the plain sum that the strakes to come are cut
as planned, the interval that all readings are weighed and the hand goes on as it is.
"""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from buildlog.measuring.reviews import closing_of
from buildlog.pictures.axes import signed
from buildlog.pictures.drawing import half_cuts
from buildlog.pictures.drift_lines import Drift, DriftLine, Forecast, drift_lines

CUTS = (328, 548)
MOST_LINES = 3


@dataclass(frozen=True)
class Heading:
    """Where one station's runs are heading: the closing strake foretold, and the share of each run in it.

    ``cut_as_planned_mm`` is the plain sum, None where it knows of no gap; the others are all readings weighed.
    """

    station: str
    planned_mm: float
    cut_as_planned_mm: float | None
    expected_mm: float
    low_mm: float
    high_mm: float
    wale: Forecast
    keel: Forecast

    @property
    def figures(self) -> tuple[str, str, str]:
        """The closing strake as planned, cut as planned, and with the hand as it is."""
        return _mm(self.planned_mm), _mm(self.cut_as_planned_mm), _mm(self.expected_mm)

    @property
    def interval(self) -> tuple[str, str]:
        """What holds it in 95 of 100 cases, low and high."""
        return _mm(self.low_mm), _mm(self.high_mm)

    @property
    def wale_words(self) -> str:
        """Where the run from the wale stands at the closing strake, and its spread."""
        return _where(self.wale)

    @property
    def keel_words(self) -> str:
        """The same of the run from the keel."""
        return _where(self.keel)


def drift_lines_of(hull, opening, review, headings):
    """Return the drift lines of an opening in two cuts, or None where no strake was ever read."""
    drift = _drift(hull, opening, review, headings)
    if drift is None:
        return None
    key = f"drift-{opening.side}"
    return half_cuts(*(drift_lines(drift, width, summary=review.sentence, key=key) for width in CUTS))


def _drift(hull, opening, review, headings) -> Drift | None:
    strakes = [s.label for s in reversed(hull.strakes[opening.pk]) if s.plan.kind != "stealer"]
    headings = {heading.station: heading for heading in headings}
    lines = [_line(hull, station, strakes, headings.get(station.station)) for station in chosen_stations(hull, review)]
    if not any(line.from_wale or line.from_keel for line in lines):
        return None
    closing = next((s.label for s in hull.strakes[opening.pk] if s.plan.run == "closing"), None)
    flat = headings.get(next((line.station for line in lines if line.is_dead_flat), None))
    return Drift(
        side=opening.side,
        strakes=tuple(strakes),
        lines=tuple(lines),
        limit_mm=max((s.step_limit_mm or 0.0 for s in review.stations), default=0.0),
        closing=strakes.index(closing) if closing in strakes else None,
        forecast_wale=flat.wale if flat else None,
        forecast_keel=flat.keel if flat else None,
        result=_result(hull, review, flat),
    )


def headings_of(hull, opening, review) -> list[Heading]:
    """Return where the runs are heading at every chosen station, while a strake of a run is still to be hung."""
    foretold = closing_of(opening, hull.as_of)
    found = []
    for station in chosen_stations(hull, review):
        told, shares = foretold.get(station.station), _shares_left(hull, opening, station.station)
        if told and shares:
            found.append(_heading(station, told, shares))
    return found


def _heading(station, told, shares) -> Heading:
    half = (told["high_mm"] - told["low_mm"]) / 2
    stand = [run[-1].cumulative_mm if run else 0.0 for run in (station.wale_drift, station.keel_drift)]
    to_come = told["planned_mm"] - told["expected_mm"] - sum(stand)
    wale, keel = (
        Forecast(now + share * to_come, share * half) for now, share in zip(stand, shares, strict=True)
    )
    return Heading(station.station, cut_as_planned_mm=station.left_alone_mm, **told, wale=wale, keel=keel)


def _where(run: Forecast) -> str:
    """Return where a run stands at the closing strake and its spread; one with none left to hang has none."""
    if not run.give_or_take_mm:
        return _("%(mm)s as read") % {"mm": signed(run.mm)}
    return f"{signed(run.mm)} ± {max(run.give_or_take_mm, 0.01):.2f}"


def _shares_left(hull, opening, name) -> tuple[float, float] | None:
    """Return the share of each run, wale first, in the planned widths still to hang before the closing strake."""
    left, names = {"wale": 0, "keel": 0}, {station.pk: station.name for station in hull.stations}
    for strake in hull.strakes[opening.pk]:
        width = next((w.width_nm for pk, w in strake.widths.items() if names.get(pk) == name), 0)
        if strake.plan.run in left and not strake.is_hung:
            left[strake.plan.run] += width
    whole = sum(left.values())
    return (left["wale"] / whole, left["keel"] / whole) if whole else None


def chosen_stations(hull, review) -> list:
    """Return at most three stations: dead flat, the one whose runs took most, the one whose runs took least."""
    read = [s for s in review.stations if any(p.read_here for p in (*s.wale_drift, *s.keel_drift))]
    flat = hull.widest_station()
    picked = [s for s in read if flat is not None and s.station == flat.name]
    for station in sorted(read, key=_taken, reverse=True)[:1] + sorted(read, key=_taken)[:1]:
        if station not in picked:
            picked.append(station)
    order = {s.station: index for index, s in enumerate(review.stations)}
    return sorted(picked[:MOST_LINES], key=lambda s: order[s.station])


def _taken(station) -> float:
    return sum(run[-1].cumulative_mm for run in (station.wale_drift, station.keel_drift) if run)


def _line(hull, station, strakes, heading) -> DriftLine:
    counted = set(strakes)
    flat = hull.widest_station()
    return DriftLine(
        station=station.station,
        from_wale=tuple(p.cumulative_mm for p in station.wale_drift if p.strake in counted),
        from_keel=tuple(p.cumulative_mm for p in station.keel_drift if p.strake in counted),
        is_dead_flat=flat is not None and station.station == flat.name,
        to_wale=heading.wale.mm if heading else None,
        to_keel=heading.keel.mm if heading else None,
    )


def _result(hull, review, heading) -> tuple[str, ...]:
    """Return what the closing strake would be at the widest station, each figure with what it supposes."""
    flat = hull.widest_station()
    here = next((s for s in review.stations if flat is not None and s.station == flat.name), None)
    if here is None or here.left_alone_mm is None or here.closing is None or not here.left:
        return ()
    width = _mm(here.left_alone_mm)
    if heading is None:
        return (*_supposing(_("Left alone, %(closing)s is %(width)s"), here), _doubt(here))
    if width == _mm(heading.expected_mm):
        return (*_supposing(_("Left alone, %(closing)s is %(width)s"), here), _interval(heading))
    hand = _("With the hand as it is: %(width)s") % {"width": _mm(heading.expected_mm)}
    return (*_supposing(_("Cut as planned, %(closing)s is %(width)s"), here), hand, _interval(heading))


def _supposing(words, here) -> tuple[str, str]:
    """Return the plain sum of a station in the words given, and how far it is off its plan as both are shown."""
    planned = here.closing_planned_mm or 0.0
    under = round(planned, 2) - round(here.left_alone_mm, 2)
    off = _("%(off)s under %(planned)s at %(station)s") if under >= 0 else _("%(off)s over %(planned)s at %(station)s")
    return (
        words % {"closing": here.closing, "width": _mm(here.left_alone_mm)},
        off % {"off": f"{abs(under):.2f}", "planned": _mm(planned), "station": here.station},
    )


def _doubt(here) -> str:
    return _("give or take %(doubt)s") % {"doubt": f"{here.doubt_mm:.2f}"}


def _interval(heading) -> str:
    low, high = heading.interval
    return _("95 in 100: %(low)s to %(high)s") % {"low": low, "high": high}


def _mm(value) -> str:
    return "–" if value is None else f"{value:.2f}".replace("-", "−")
