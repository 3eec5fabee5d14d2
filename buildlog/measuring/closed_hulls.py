"""What is said of a closed side: where two neighbours step off the plan the most."""

from collections import defaultdict
from dataclasses import dataclass
from itertools import pairwise

from buildlog.models import NM_PER_MM, PlanWidth
from buildlog.queries.plans import revision_in_force, strakes_of_opening
from planking.errors import PlankingError

from .instruments import width_mm
from .openings import facts_of


@dataclass(frozen=True)
class LargestStep:
    """How much two neighbours differ beyond what the plan had them differ; ``older`` hung before ``newer``."""

    nm: int
    station: str
    older: str
    newer: str
    is_where_recut_began: bool


def largest_step(opening, as_of=None) -> LargestStep | None:
    """Return the largest step off the plan of a side where all strakes hang, or None.

    Both neighbours are held against the revision the one hung first was cut to: where a recut began, it is the
    plan of before that the eye still sees in the older strake.
    """
    revision = revision_in_force(opening.build, as_of)
    strakes = strakes_of_opening(revision, opening, as_of) if revision else []
    if not strakes or not all(s.is_hung for s in strakes):
        return None
    try:
        facts = facts_of(opening, as_of, revision)
    except PlankingError:
        return None
    planned = _planned(strakes) if facts else {}
    steps = [step for station in (facts.stations if facts else ()) for step in _steps(facts, strakes, planned, station)]
    return max(steps, key=lambda step: step.nm, default=None)


def _planned(strakes) -> dict:
    """Return nm by (strake pk, revision pk) and station name, of every revision a strake here was cut to."""
    found = defaultdict(dict)
    rows = PlanWidth.objects.filter(
        plan_strake__strake__in=[s.plan.strake_id for s in strakes],
        plan_strake__revision__in={s.state.revision_id for s in strakes},
    ).values_list("plan_strake__strake_id", "plan_strake__revision_id", "station__name", "width_nm")
    for strake, revision, station, nm in rows:
        found[strake, revision][station] = nm
    return found


def _steps(facts, strakes, planned, station):
    here = [s for s in strakes if (s.label, station.name) in facts.width_at]
    reaching = [strake.label for strake in facts.strakes_at(station.name)]
    for keel, wale in pairwise(here):
        if abs(reaching.index(keel.label) - reaching.index(wale.label)) != 1:
            continue
        older, newer = sorted((keel, wale), key=lambda s: s.state.hung_at)
        by = older.state.revision_id
        plans = [planned[s.plan.strake_id, by].get(station.name) for s in (older, newer)]
        if None not in plans:
            read = (width_mm(facts, s.label, station.name) * NM_PER_MM for s in (older, newer))
            a, b = (nm - plan_nm for nm, plan_nm in zip(read, plans, strict=True))
            began = newer.state.revision_id != by
            yield LargestStep(round(abs(a - b)), station.name, older.label, newer.label, began)
