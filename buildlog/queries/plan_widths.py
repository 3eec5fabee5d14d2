"""A draft of one opening as it is edited: its strakes, what locks them, and what each station comes to."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from buildlog.models import Opening, Plank, PlanOpening

from .plans import StrakeOfPlan, strakes_by_opening


@dataclass(frozen=True)
class StationSum:
    """One station of a plan in whole nm: widths and seams against the girth they are to close on."""

    station: object
    girth_nm: int | None
    widths_nm: int
    seams: int
    seams_nm: int

    @property
    def left_nm(self) -> int | None:
        """What is left to give; below zero where the widths are over the girth. None without a girth."""
        return None if self.girth_nm is None else self.girth_nm - self.widths_nm - self.seams_nm

    @property
    def short_or_over_nm(self) -> int | None:
        return None if self.left_nm is None else abs(self.left_nm)


@dataclass
class DraftOpening:
    """One opening of a draft; ``strakes`` keel side first, ``stations`` forward to aft."""

    revision: object
    opening: Opening
    plan: PlanOpening
    stations: list
    strakes: list[StrakeOfPlan]

    def __post_init__(self):
        self.girths = {g.station_id: g for g in self.plan.girths.all()} if self.plan.pk else {}

    def sum_at(self, station) -> StationSum:
        here = [s.widths[station.pk].width_nm for s in self.strakes if station.pk in s.widths]
        seams = self.seams_of(len(here))
        girth = self.girths.get(station.pk)
        return StationSum(
            station, girth.girth_nm if girth else None, sum(here), seams, seams * self.plan.planned_seam_nm
        )

    def seams_of(self, count: int) -> int:
        """How many seams so many strakes with a width have, those hung before this log lying between too."""
        behind = sum(s.state.measured == Plank.Measured.BEFORE_LOG and not s.widths for s in self.strakes)
        ends = (self.opening.keel_edge == Opening.Edge.FIXED) + (self.opening.wale_edge == Opening.Edge.FIXED)
        return max(0, count + behind - 1 + ends) if count else 0

    def sums(self) -> list[StationSum]:
        return [self.sum_at(station) for station in self.stations]

    def strake(self, uuid) -> StrakeOfPlan | None:
        return next((s for s in self.strakes if s.plan.strake.uuid == uuid), None)

    def full_nm(self) -> int | None:
        """The full width that limits are a share of: the widest open strake at dead flat, else of all."""
        cells = [(s, pk, w) for s in self.strakes for pk, w in s.widths.items()]
        cells = [one for one in cells if not locked_because(one[0])] or cells
        flat = {station.pk for station in self.stations if station.is_dead_flat}
        at_flat = [w.width_nm for _s, pk, w in cells if pk in flat]
        return max(at_flat or [w.width_nm for _s, _pk, w in cells], default=None)


def draft_opening(revision, opening) -> DraftOpening:
    """Return what is needed to edit one opening of a draft, in a fixed number of queries."""
    plans = PlanOpening.objects.filter(revision=revision, opening=opening).prefetch_related("girths")
    plan = plans.first() or PlanOpening(revision=revision, opening=opening)
    strakes = strakes_by_opening(revision, openings=[opening]).get(opening.pk, [])
    stations = list(opening.build.stations.select_related("frame").order_by("position"))
    return DraftOpening(revision, opening, plan, stations, strakes)


def reaches(plan, station) -> bool:
    """Whether a strake of the plan reaches a station, by its stretches of frames."""
    if not plan.spans or station.frame is None:
        return True
    return any(first <= station.frame.number <= last for first, last in plan.spans)


def locked_because(strake: StrakeOfPlan) -> str:
    """Return why a strake may not be changed by a plan, or nothing where it may. The plank row says it."""
    words = {
        Plank.State.HUNG: _("Strake %(label)s is hung, so no plan changes it any more."),
        Plank.State.CUTTING: _("Strake %(label)s is being cut, so it stays as it was planned."),
        Plank.State.CUT: _("Strake %(label)s is cut, so it stays as it was planned."),
        Plank.State.DRY_FITTED: _("Strake %(label)s is dry-fitted, so it stays as it was planned."),
    }.get(strake.state.state)
    return words % {"label": strake.label} if words else ""
