"""The plan in force, now or as it was known at a moment, with its strakes and widths in few queries."""

from dataclasses import dataclass, field

from django.db.models import prefetch_related_objects

from buildlog.models import PlanRevision, PlanStrake

from .planks import OPEN, StrakeState, states_of_strakes


@dataclass
class StrakeOfPlan:
    """One strake of a revision with how far it has come. ``widths`` maps station pk to its PlanWidth."""

    plan: PlanStrake
    state: StrakeState
    widths: dict = field(default_factory=dict)

    @property
    def label(self) -> str:
        return self.plan.label

    @property
    def is_hung(self) -> bool:
        return self.state.is_hung


def revision_in_force(build, as_of=None):
    """Return the revision in force, or None before there is a plan."""
    revisions = PlanRevision.objects.filter(build=build)
    if as_of is None:
        return revisions.filter(state=PlanRevision.State.IN_FORCE).first()
    return (
        revisions.filter(in_force_from__lte=as_of, known_at__lte=as_of, number__isnull=False)
        .order_by("-number")
        .first()
    )


def strakes_of_opening(revision, opening, as_of=None) -> list[StrakeOfPlan]:
    """Return an opening's strakes of one revision from the keel side on, each with its state and widths."""
    return strakes_by_opening(revision, as_of=as_of, openings=[opening]).get(opening.pk, [])


def strakes_by_opening(revision, as_of=None, openings=None) -> dict[int, list[StrakeOfPlan]]:
    """Return the strakes of a revision by opening pk, keel side first. Four queries, however many strakes."""
    plans = PlanStrake.objects.filter(revision=revision).select_related("belt", "strake", "opening")
    if openings is not None:
        plans = plans.filter(opening__in=openings)
    plans = list(plans.prefetch_related("widths").order_by("position"))
    states = states_of_strakes([plan.strake_id for plan in plans], as_of)
    found: dict[int, list[StrakeOfPlan]] = {}
    for plan in plans:
        widths = {width.station_id: width for width in plan.widths.all()}
        found.setdefault(plan.opening_id, []).append(
            StrakeOfPlan(plan, states.get(plan.strake_id, OPEN), widths)
        )
    return found


def know_butts(strakes):
    """Read the planned planks of some strakes, and the frames they end on, in two queries."""
    prefetch_related_objects([strake.plan for strake in strakes], "planks__to_frame")


def openings_of(build):
    return list(build.openings.order_by("layer", "side", "position"))


def label_of_strake(strake) -> str:
    """Return the newest label of a strake: of the latest numbered revision that has it."""
    plans = PlanStrake.objects.filter(strake=strake, revision__number__isnull=False)
    return plans.order_by("-revision__number").values_list("label", flat=True).first() or ""


def counted(strakes: list[StrakeOfPlan]) -> list[StrakeOfPlan]:
    """Return the strakes that a builder counts, hung or to hang: a stealer is a plank of its neighbours, no strake
    more. Where a count is told, the stealers that hang are named beside it.
    """
    return [strake for strake in strakes if strake.plan.kind != "stealer"]


def stealers_hung(strakes: list[StrakeOfPlan]) -> int:
    """Return how many stealers hang, which are told by themselves beside the strakes counted."""
    return sum(strake.is_hung and strake.plan.kind == "stealer" for strake in strakes)
