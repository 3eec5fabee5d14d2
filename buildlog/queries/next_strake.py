"""What comes next: the paired strake on the other side, then the next of the runs in turn."""

from dataclasses import dataclass

from buildlog.models import Opening

from .plans import StrakeOfPlan, openings_of, revision_in_force, strakes_by_opening


@dataclass(frozen=True)
class Next:
    opening: Opening
    strake: StrakeOfPlan

    @property
    def side(self) -> str:
        return self.opening.side

    @property
    def label(self) -> str:
        return self.strake.label


def fronts(strakes: list[StrakeOfPlan]) -> dict[str, StrakeOfPlan]:
    """Return the strake that each run would hang next; the closing one only when all others hang."""
    free = [s for s in strakes if not s.is_hung]
    found = {}
    keel = [s for s in free if s.plan.run == "keel"]
    wale = [s for s in free if s.plan.run == "wale"]
    if keel:
        found["keel"] = keel[0]
    if wale:
        found["wale"] = wale[-1]
    closing = [s for s in free if s.plan.run == "closing"]
    if closing and not found:
        found["closing"] = closing[0]
    return found


def next_strake(build) -> Next | None:
    """Return what to hang next, or None where nothing is left or there is no plan."""
    revision = revision_in_force(build)
    if revision is None:
        return None
    return next_of(openings_of(build), strakes_by_opening(revision))


def next_of(openings, strakes_by_opening) -> Next | None:
    """Return the next strake from rows already read (the outermost layer that still has one to hang)."""
    for layer in sorted({opening.layer for opening in openings}):
        here = [o for o in openings if o.layer == layer and not o.left_open]
        found = _next_of_layer(here, strakes_by_opening)
        if found:
            return found
    return None


def _next_of_layer(openings, by_opening) -> Next | None:
    candidates = {o: fronts(by_opening.get(o.pk, [])) for o in openings}
    if not any(candidates.values()):
        return None
    last = _last_hung(openings, by_opening)
    if last:
        pair = _pair(last, candidates)
        if pair:
            return pair
    opening = min(
        (o for o in openings if candidates[o]),
        key=lambda o: (sum(s.is_hung for s in by_opening[o.pk]), o.side, o.position),
    )
    return Next(opening, _in_turn(candidates[opening], last))


def _last_hung(openings, by_opening):
    hung = [
        (s.state.hung_at, s.plan.pk, o, s)
        for o in openings
        for s in by_opening.get(o.pk, [])
        if s.is_hung and s.state.measured != "before_log"
    ]
    return max(hung, default=(None, None, None, None), key=lambda row: row[:2])[2:] if hung else None


def _pair(last, candidates):
    opening, strake = last
    for other, front in candidates.items():
        if other.side != opening.side and other.position == opening.position:
            for candidate in front.values():
                if candidate.label == strake.label:
                    return Next(other, candidate)
    return None


def _in_turn(front: dict, last) -> StrakeOfPlan:
    run = last[1].plan.run if last else "keel"
    turn = {"wale": "keel", "keel": "wale"}.get(run, "wale")
    return front.get(turn) or next(iter(front.values()))
