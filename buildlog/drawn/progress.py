"""How far the planking is: strakes hung by side, in words and figures, never a share of completion."""

from dataclasses import dataclass

from buildlog.queries.plans import counted, stealers_hung


@dataclass(frozen=True)
class Progress:
    side: str
    hung: int
    all: int
    to_hang: int
    stealers: int


def progress_of(hull) -> list[Progress]:
    """Return the strakes hung and to hang of each opening of the layer being planked."""
    rows = []
    for opening in hull.openings_here():
        strakes = strakes_counted(hull, opening)
        hung = sum(s.is_hung for s in strakes)
        stealers = stealers_hung(hull.strakes[opening.pk])
        rows.append(Progress(opening.side, hung, len(strakes), len(strakes) - hung, stealers))
    return rows


def strakes_counted(hull, opening) -> list:
    """Return the strakes of an opening that a builder counts."""
    return counted(hull.strakes[opening.pk])
