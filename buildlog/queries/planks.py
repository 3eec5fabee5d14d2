"""How far each strake has come, now or as it was known at a moment."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta

from buildlog.models import Plank, PlankStep

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


def states_of_strakes(strakes, as_of=None) -> dict[int, StrakeState]:
    """Return the state of each strake by its pk, from the steps known at ``as_of`` (now where None)."""
    steps = PlankStep.objects.filter(plank__strake__in=strakes).select_related("plank")
    if as_of is not None:
        steps = steps.filter(known_at__lte=as_of)
    last, hung = {}, {}
    for step in steps.order_by("happened_at", "pk"):
        last[step.plank_id] = step
        if step.state == Plank.State.HUNG:
            hung[step.plank_id] = step.happened_at
    by_strake: dict[int, list] = {}
    for step in last.values():
        if step.state in _ORDER:
            by_strake.setdefault(step.plank.strake_id, []).append(step)
    return {pk: _state(steps, hung) for pk, steps in by_strake.items()}


def _state(steps, hung) -> StrakeState:
    least = min(steps, key=lambda step: _ORDER.index(step.state))
    plank = least.plank
    return StrakeState(
        state=least.state,
        measured=least.measured or plank.measured,
        hung_at=max((hung[s.plank_id] for s in steps if s.plank_id in hung), default=None)
        if least.state == Plank.State.HUNG
        else None,
        since=least.happened_at,
        revision_id=plank.revision_id,
        by_id=plank.by_id,
        set_widths=plank.set_widths,
    )
