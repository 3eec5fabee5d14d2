"""What ate the gap at each station since the plan was lined off, as the gap wedge is told it.

The parts and the shortage are those of the sum and of the gap check's table, so that picture, table and verdict say
one thing: what new widths have given up since is a part of its own. A gap that nobody read as it stands, none at all
or strakes hung since, is not measured but reckoned.
"""

from buildlog.pictures.drawing import half_cuts
from buildlog.pictures.gap_wedge import WedgeStation, gap_wedge

CUTS = (328, 548)


def gap_wedge_of(opening, review, only=None):
    """Return the wedge of an opening in two cuts, of all stations or those named; None where no gap is known."""
    stations = wedge_stations(review, only)
    if not stations:
        return None
    key = f"wedge-{opening.side}"
    return half_cuts(*(gap_wedge(stations, width, summary=review.sentence, key=key) for width in CUTS))


def wedge_stations(review, only=None) -> list[WedgeStation]:
    """Return the stations whose shortage has its parts, aft to forward as in the pictures."""
    known = [s for s in reversed(review.stations) if s.parts is not None and s.short_mm is not None]
    return [_station(s) for s in known if only is None or s.station in only]


def is_read(station) -> bool:
    """Say whether the gap at a station was read as it stands: brought forward by strakes hung since, it is reckoned."""
    return station.gap_read_mm is not None and not station.hung_since


def _station(station) -> WedgeStation:
    parts, read = station.parts, is_read(station)
    return WedgeStation(
        name=station.station,
        in_plan_mm=parts.in_plan_mm,
        widths_mm=parts.widths_mm,
        girth_mm=parts.girth_mm,
        seams_mm=parts.seams_mm,
        weighed_mm=parts.weighed_mm,
        left_over_mm=parts.left_over_mm,
        measured_mm=parts.total_mm if read else None,
        reckoned_mm=None if read else parts.total_mm,
    )
