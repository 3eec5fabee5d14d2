"""Belts that are held at their batten line: what that says of where the last strake's edge lies."""

from collections.abc import Iterator

from buildlog.models import NM_PER_MM, PlanBelt
from buildlog.queries.plans import StrakeOfPlan
from planking import opening as facts

# How far off its line the edge of a strake may lie that was made to a batten: about what dividers and rule
# tell (common practice, no source).
U_HELD_MM = 0.10


def held_edges(strakes: list[StrakeOfPlan], names: dict[int, str], plan, ends: tuple[bool, bool]) -> Iterator:
    """Yield an edge reading at each station for each belt that is held at its line and hung whole.

    ``strakes`` keel side first, ``names`` stations by pk, ``ends`` whether the keel and the wale line have a
    seam. The last strake of such a belt is made to the line, so the way from the fixed line to its far edge is
    as planned; what the belt was off before does not go on. *Carry* says nothing of the kind and yields nothing.
    """
    seam_nm = plan.planned_seam_nm if plan else 0
    for belt, run in _hung_and_held(strakes):
        members = [s for s in strakes if s.plan.belt_id == belt]
        at = strakes.index(members[-1] if run == "keel" else members[0])
        between = strakes[: at + 1] if run == "keel" else strakes[at:]
        if not all(s.is_hung and s.widths for s in between):
            continue
        for pk, name in names.items():
            last = strakes[at].widths.get(pk)
            if last is None:
                # The last strake does not reach this station, so nothing was made to the line there.
                continue
            here = [s.widths[pk].width_nm for s in between if pk in s.widths]
            seams = len(here) - 1 + ends[0 if run == "keel" else 1]
            distance_mm = (sum(here) + seams * seam_nm) / NM_PER_MM
            yield facts.EdgeReading(run, strakes[at].label, name, distance_mm, U_HELD_MM)


def _hung_and_held(strakes) -> list[tuple[int, str]]:
    """Return the belts that are held and hung whole, with their run; where two runs meet no line is held."""
    found: dict[int, set[str]] = {}
    for strake in strakes:
        belt = strake.plan.belt
        if belt is not None and belt.at_line == PlanBelt.AtLine.HOLD:
            found.setdefault(belt.pk, set()).add(strake.plan.run if strake.is_hung else "")
    return [(pk, next(iter(runs))) for pk, runs in found.items() if runs in ({"keel"}, {"wale"})]
