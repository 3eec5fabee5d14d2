"""The girth strip before there is a plan: equal planks, as many as the first run was told of."""

from buildlog.pictures.strip import Plank, Side
from buildlog.queries.builds import told_of


def first_sides(build) -> list[Side]:
    """Return one line a side of what was told; none before that."""
    if "planking" not in build.first_run:
        return []
    runs = build.first_run.get("runs", "both")
    told = [told_of(build, side) for side in build.side_list]
    return [Side(one.side, (_planks(one.counts, runs, one is told[0]),)) for one in told if one]


def _planks(counts, runs, has_next) -> tuple[Plank, ...]:
    keel, left, wale = counts["hung_keel"], counts["left"], counts["hung_wale"]
    closing = {"wale": 1, "keel": left}.get(runs, (left + 1) // 2)
    following = {"wale": left, "keel": 1}.get(runs, left)
    planks = [Plank(width_mm=None, state="before_log")] * keel
    for number in range(1, left + 1):
        state = "next" if has_next and number == following else "open"
        planks.append(Plank(width_mm=None, state=state, closing=number == closing))
    return (*planks, *([Plank(width_mm=None, state="before_log")] * wale))
