"""What the page of girths reads: how girths were read last, what is expected of them, what is hung already."""

from dataclasses import dataclass
from statistics import fmean

from django.utils.translation import gettext as _

from buildlog.models import PlanGirth, PlanOpening, Reading

from .planks import states_of_strakes
from .plans import strakes_of_opening
from .readings import counting_girths, counting_widths


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


def planned_girths(revision, opening) -> dict[int, int]:
    """Return the plan's own girth by station pk: what it closes on, else what its widths and seams come to."""
    if revision is None:
        return {}
    found: dict[int, list[int]] = {}
    for strake in strakes_of_opening(revision, opening):
        for station, planned in strake.widths.items():
            found.setdefault(station, []).append(planned.width_nm)
    plan = PlanOpening.objects.filter(revision=revision, opening=opening).prefetch_related("girths").first()
    seam_nm = plan.planned_seam_nm if plan else 0
    closes_on = {girth.station_id: girth.girth_nm for girth in plan.girths.all()} if plan else {}
    return {at: sum(widths) + (len(widths) + 1) * seam_nm for at, widths in found.items()} | closes_on


@dataclass(frozen=True)
class ExpectedGirth:
    """What a girth is likely to be and by what: ``words`` in a question, ``short`` beside the figure."""

    nm: int
    words: str
    short: str = ""
    # Where nothing better is known a station is judged by its neighbours, and hulls do taper.
    is_guess: bool = False


def expected_girths(revision, opening, twin, stations) -> dict[int, ExpectedGirth]:
    """Return what to expect by station pk: the drawing's, the other side's, the plan's, else the take before.

    Where a station has none of these, what its neighbours have.
    """
    drawn = {at: nm for (pk, at), nm in drawing_girths(revision).items() if pk == opening.pk}
    before, other = _latest(opening), _latest(twin) if twin else {}
    side = twin.get_side_display().lower() if twin else ""
    known: dict[int, ExpectedGirth] = {}
    for girths, words, short in (
        (drawn, _("the drawing"), _("drawing")), (other, _("the girth read to %(side)s") % {"side": side}, side),
        (planned_girths(revision, opening), _("the plan"), _("plan")), (before, _("the take before"), ""),
    ):  # fmt: skip
        for at, nm in girths.items():
            known.setdefault(at, ExpectedGirth(nm, words, short))
    return known | _by_neighbours([station.pk for station in stations], known)


def _latest(opening) -> dict[int, int]:
    return {at: takes[0].value_nm for at, takes in counting_girths(opening).items()}


def _by_neighbours(pks, known) -> dict[int, ExpectedGirth]:
    found = {}
    for index, pk in enumerate(pks):
        sides = reversed(pks[:index]), pks[index + 1 :]
        near = [known[first].nm for side in sides if (first := next((at for at in side if at in known), None))]
        if pk not in known and near:
            found[pk] = ExpectedGirth(round(fmean(near)), _("the stations beside it"), is_guess=True)
    return found


@dataclass(frozen=True)
class HungHere:
    """What is on the hull at one station: how many strakes, and what their widths come to."""

    strakes: int
    nm: int


def hung_at_stations(revision, opening) -> dict[int, HungHere]:
    """Return what is hung by station pk. A strake that was not read counts with its planned width, if it has one."""
    widths = {key: reading.value_nm for key, reading in counting_widths(opening).items()}
    for strake in strakes_of_opening(revision, opening) if revision else []:
        for station, planned in strake.widths.items():
            widths.setdefault((strake.plan.strake_id, station), planned.width_nm)
    states = states_of_strakes({strake for strake, __ in widths})
    found: dict[int, HungHere] = {}
    for (strake, station), nm in widths.items():
        if strake in states and states[strake].is_hung:
            before = found.get(station, HungHere(0, 0))
            found[station] = HungHere(before.strakes + 1, before.nm + nm)
    return found
