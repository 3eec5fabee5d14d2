"""What the page of girths reads: how girths were read last, what the drawing says, what is hung already."""

from dataclasses import dataclass

from buildlog.models import PlanGirth, Reading

from .plans import strakes_of_opening
from .readings import counting_widths


def method_last_used(build, person) -> str:
    """Return how this person read a girth last, else by paper strip."""
    last = Reading.objects.filter(build=build, person=person, kind=Reading.Kind.GIRTH).order_by("-received_at")
    return last.values_list("method", flat=True).first() or Reading.Method.PAPER_STRIP


def drawing_girths(revision) -> dict[tuple[int, int], int]:
    """Return the girth that the drawing gives, in nm, by opening pk and station pk."""
    if revision is None:
        return {}
    rows = PlanGirth.objects.filter(plan_opening__revision=revision, drawing_nm__isnull=False)
    told = rows.values_list("plan_opening__opening_id", "station_id", "drawing_nm")
    return {(opening, station): nm for opening, station, nm in told}


@dataclass(frozen=True)
class HungHere:
    """What is on the hull at one station: how many strakes, and what their widths come to."""

    strakes: int
    nm: int


def hung_at_stations(revision, opening) -> dict[int, HungHere]:
    """Return what is hung by station pk; a strake that was not read counts with its planned width."""
    if revision is None:
        return {}
    read = counting_widths(opening)
    found: dict[int, HungHere] = {}
    for strake in strakes_of_opening(revision, opening):
        for station, planned in strake.widths.items() if strake.is_hung else ():
            reading = read.get((strake.plan.strake_id, station))
            before = found.get(station, HungHere(0, 0))
            here = reading.value_nm if reading else planned.width_nm
            found[station] = HungHere(before.strakes + 1, before.nm + here)
    return found
