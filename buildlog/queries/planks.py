"""How far each strake has come, now or as it was known at a moment."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import pairwise
from typing import NamedTuple

from django.db.models import Exists, OuterRef

from buildlog.models import Event, Plank, PlankStep

from .last_things import standing_steps

# A mark "being cut by" that nobody went on with fades after so long, and the strake is free for another.
CUTTING_FADES_AFTER = timedelta(hours=24)

_ORDER = [
    Plank.State.CUTTING, Plank.State.CUT, Plank.State.DRY_FITTED, Plank.State.HUNG,
]  # fmt: skip


@dataclass(frozen=True)
class StrakeState:
    """``state`` is open, cutting, cut, dry_fitted or hung; the least far of its planks in place decides."""

    state: str
    measured: str = Plank.Measured.MEASURED
    hung_at: datetime | None = None
    since: datetime | None = None
    revision_id: int | None = None
    by_id: int | None = None
    # What its card told the builder to set, nm by station name.
    set_widths: dict = field(default_factory=dict)

    @property
    def is_hung(self) -> bool:
        return self.state == Plank.State.HUNG


OPEN = StrakeState(state="open")


class Step(NamedTuple):
    """One step of a plank's life, and the strake it is of."""

    plank_id: int
    strake_id: int
    state: str
    measured: str
    happened_at: datetime
    reason: str = ""


class Hung(NamedTuple):
    """From when on a plank hung, and when it came off."""

    since: datetime
    until: datetime


def states_of_strakes(strakes, as_of=None) -> dict[int, StrakeState]:
    """Return the state of each strake by its pk, from the steps known at ``as_of`` (now where None)."""
    steps = steps_of_strakes(strakes, as_of)
    last = {step.plank_id: step for step in steps}
    # A plank of which the taking off is undone has hung since it was hung, not since the undoing.
    hung = {
        plank: step.happened_at
        for plank, standing in _standing_by_plank(steps).items()
        for step in standing
        if step.state == Plank.State.HUNG
    }
    least: dict[int, Step] = {}
    hung_at: dict[int, datetime] = {}
    for step in last.values():
        if step.state not in _ORDER:
            continue
        pk, so_far = step.strake_id, least.get(step.strake_id)
        if so_far is None or _ORDER.index(step.state) < _ORDER.index(so_far.state):
            least[pk] = step
        if step.plank_id in hung:
            hung_at[pk] = max(hung[step.plank_id], hung_at.get(pk, hung[step.plank_id]))
    planks = Plank.objects.in_bulk({step.plank_id for step in least.values()}) if least else {}
    return {pk: _state(step, planks[step.plank_id], hung_at.get(pk)) for pk, step in least.items()}


def steps_of_strakes(strakes, as_of=None) -> list[Step]:
    """Return the steps of all planks of some strakes as known at ``as_of``, in the order they happened.

    Plain rows: several pages want hundreds of them, and instances took most of the time.
    """
    steps = PlankStep.objects.filter(plank__strake__in=strakes)
    if as_of is not None:
        steps = steps.filter(known_at__lte=as_of)
    rows = steps.order_by("happened_at", "pk")
    named = ("plank", "plank__strake", "state", "measured", "happened_at", "reason")
    return [Step(*row) for row in rows.values_list(*named)]


def _standing_by_plank(steps: Iterable[Step]) -> dict[int, list[Step]]:
    by_plank: dict[int, list[Step]] = {}
    for step in steps:
        by_plank.setdefault(step.plank_id, []).append(step)
    return {plank: standing_steps(steps) for plank, steps in by_plank.items()}


def came_off(steps: Iterable[Step]) -> list[Hung]:
    """Return when each plank hung that was taken off or spoiled since; one hung by mistake never hung."""
    off = (Plank.State.TAKEN_OFF, Plank.State.SPOILED)
    found, straight = [], {}
    for plank, standing in _standing_by_plank(steps).items():
        for before, after in pairwise(standing):
            if before.state != Plank.State.HUNG or after.state not in off:
                continue
            hung = Hung(before.happened_at, after.happened_at)
            if before is standing[0] and after.state == Plank.State.TAKEN_OFF:
                straight[plank] = hung
            else:
                found.append(hung)
    mistaken = _hung_by_mistake(straight) if straight else set()
    return found + [hung for plank, hung in straight.items() if plank not in mistaken]


def _hung_by_mistake(planks) -> set[int]:
    """Of planks that were nothing before they were hung: those of which the history says that they never hung.

    Taken off and taken back leave the same step behind there.
    """
    told = Event.objects.filter(
        verb="hung by mistake", uuid=OuterRef("plank__strake__uuid"), at=OuterRef("received_at")
    )
    steps = PlankStep.objects.filter(Exists(told), plank__in=list(planks), state=Plank.State.TAKEN_OFF)
    return set(steps.values_list("plank", flat=True))


def _state(step, plank, hung_at) -> StrakeState:
    return StrakeState(
        state=step.state,
        measured=step.measured or plank.measured,
        hung_at=hung_at if step.state == Plank.State.HUNG else None,
        since=step.happened_at,
        revision_id=plank.revision_id,
        by_id=plank.by_id,
        set_widths=plank.set_widths,
    )


def lots_of_strake(strake) -> list[str]:
    """Return the names of the wood that the planks of a strake in place were cut from."""
    lots = Plank.objects.filter(strake=strake, state__in=Plank.IN_PLACE, lot__isnull=False)
    return list(dict.fromkeys(lots.order_by("number").values_list("lot__name", flat=True)))
