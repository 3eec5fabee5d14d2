"""What the planks of an opening measure at one station: enough to show what a change of face would come to."""

from dataclasses import dataclass

from .plans import strakes_of_opening


@dataclass(frozen=True)
class PlanksHere:
    """The mean planned width and thickness of the strakes still to hang, or of all where none is."""

    station: object
    strakes: int
    width_nm: int
    thickness_nm: int


def planks_at(revision, opening, station) -> PlanksHere | None:
    """Return the planks at a station, or None where no thickness is planned there."""
    if revision is None or station is None:
        return None
    strakes = [s for s in strakes_of_opening(revision, opening) if station.pk in s.widths]
    left = [s for s in strakes if not s.is_hung] or strakes
    widths = [s.widths[station.pk] for s in left if s.widths[station.pk].thickness_nm]
    if not widths:
        return None
    count = len(widths)
    return PlanksHere(
        station, count, sum(w.width_nm for w in widths) // count, sum(w.thickness_nm for w in widths) // count
    )
