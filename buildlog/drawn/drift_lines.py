"""The two runs of an opening and where they are heading, as the drift lines are told it."""

from django.utils.translation import gettext as _

from buildlog.pictures.drawing import half_cuts
from buildlog.pictures.drift_lines import Drift, DriftLine, drift_lines

CUTS = (328, 548)
MOST_LINES = 3


def drift_lines_of(hull, opening, review):
    """Return the drift lines of an opening in two cuts, or None where no strake was ever read."""
    drift = _drift(hull, opening, review)
    if drift is None:
        return None
    key = f"drift-{opening.side}"
    return half_cuts(*(drift_lines(drift, width, summary=review.sentence, key=key) for width in CUTS))


def _drift(hull, opening, review) -> Drift | None:
    strakes = [s.label for s in reversed(hull.strakes[opening.pk]) if s.plan.kind != "stealer"]
    lines = [_line(hull, station, strakes) for station in chosen_stations(hull, review)]
    if not any(line.from_wale or line.from_keel for line in lines):
        return None
    closing = next((s.label for s in hull.strakes[opening.pk] if s.plan.run == "closing"), None)
    return Drift(
        side=opening.side,
        strakes=tuple(strakes),
        lines=tuple(lines),
        limit_mm=max((s.step_limit_mm or 0.0 for s in review.stations), default=0.0),
        closing=strakes.index(closing) if closing in strakes else None,
        result=_result(hull, review),
    )


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


def _line(hull, station, strakes) -> DriftLine:
    counted = set(strakes)
    flat = hull.widest_station()
    return DriftLine(
        station=station.station,
        from_wale=tuple(p.cumulative_mm for p in station.wale_drift if p.strake in counted),
        from_keel=tuple(p.cumulative_mm for p in station.keel_drift if p.strake in counted),
        is_dead_flat=flat is not None and station.station == flat.name,
    )


def _result(hull, review) -> tuple[str, ...]:
    """Return what the closing strake would be, left alone, at the widest station."""
    flat = hull.widest_station()
    here = next((s for s in review.stations if flat is not None and s.station == flat.name), None)
    if here is None or here.left_alone_mm is None or here.closing is None or not here.left:
        return ()
    under = (here.closing_planned_mm or 0.0) - here.left_alone_mm
    word = _("%(off)s under %(planned)s at %(station)s") if under >= 0 else _("%(off)s over %(planned)s at %(station)s")
    return (
        _("Left alone, %(closing)s is %(width)s") % {"closing": here.closing, "width": f"{here.left_alone_mm:.2f}"},
        word % {"off": f"{abs(under):.2f}", "planned": f"{here.closing_planned_mm:.2f}", "station": here.station},
        _("give or take %(doubt)s") % {"doubt": f"{here.doubt_mm:.2f}"},
    )
