"""What ate the gap at each station since the plan was lined off, as the gap wedge is told it.

What new widths have given up since is no loss of the gap: it is left out on both sides of the sum.
"""

from buildlog.pictures.drawing import half_cuts
from buildlog.pictures.gap_wedge import WedgeStation, gap_wedge

CUTS = (328, 548)


def gap_wedge_of(opening, review):
    """Return the wedge of an opening in two cuts, or None where no gap was read."""
    stations = [_station(s) for s in reversed(review.stations) if s.parts is not None and s.short_mm is not None]
    if not stations:
        return None
    key = f"wedge-{opening.side}"
    return half_cuts(*(gap_wedge(stations, width, summary=review.sentence, key=key) for width in CUTS))


def _station(station) -> WedgeStation:
    parts = station.parts
    return WedgeStation(
        name=station.station,
        widths_mm=parts.widths_mm,
        girth_mm=parts.girth_mm,
        seams_mm=parts.seams_mm,
        left_over_mm=parts.left_over_mm + parts.weighed_mm,
        measured_mm=station.short_mm - parts.in_plan_mm,
    )
