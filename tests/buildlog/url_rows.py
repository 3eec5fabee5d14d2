"""Who may do what with each URL, written by hand. The test beside this compares it with the resolver."""

import uuid
from dataclasses import dataclass

NOBODY = uuid.UUID(int=0)


@dataclass(frozen=True)
class Page:
    """``reads``: the least role that may GET it (None: no GET). ``writes``: the least that may POST (None: no POST).

    ``answers``: what somebody who may gets from an empty request.
    """

    reads: str | None = "reader"
    writes: str | None = None
    answers: frozenset = frozenset({200, 302})


# Pages under /builds/<uuid>/.
BUILD_PAGES = {
    "hull": Page(),
    "opening-sums": Page(),
    "strake-detail": Page(),
}

# Pages that anybody may open, and how they answer without a valid token.
OPEN_PAGES = {}

# Pages of whoever is signed in, of no build.
OWN_PAGES = {}


def arguments_of(name, hull) -> list:
    """Return the arguments of a URL for the small hull; rows that a page needs are made here."""
    build = hull.build.uuid
    one = {
        "opening-sums": lambda: [hull.opening.uuid],
        "strake-detail": lambda: [hull.strakes["1"].uuid],
    }.get(name, list)
    return [build, *one()]
