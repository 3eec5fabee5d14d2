"""How far the planking is: strakes hung by side, in words and figures, never a share of completion."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Progress:
    side: str
    hung: int
    all: int
    to_hang: int


def progress_of(hull) -> list[Progress]:
    """Return the strakes hung and to hang of each opening of the layer being planked."""
    rows = []
    for opening in hull.openings_here():
        strakes = strakes_counted(hull, opening)
        hung = sum(s.is_hung for s in strakes)
        rows.append(Progress(opening.side, hung, len(strakes), len(strakes) - hung))
    return rows


def strakes_counted(hull, opening) -> list:
    """Return the strakes that a builder counts: a stealer is a plank of its neighbours, not a strake more."""
    return [s for s in hull.strakes[opening.pk] if s.plan.kind != "stealer"]
