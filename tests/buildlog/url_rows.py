"""Who may do what with each URL, written by hand. The test beside this compares it with the resolver."""

import uuid
from dataclasses import dataclass

from tests import factories

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
    "build-open": Page(),
    "build-name": Page(reads="builder", writes="builder"),
    "build-scale": Page(reads="builder", writes="builder"),
    "build-sides": Page(reads="builder", writes="builder"),
    "station-count": Page(reads="builder", writes="builder"),
    "station-names": Page(reads="builder", writes="builder"),
    "first-run-back": Page(reads=None, writes="builder"),
    "first-plan": Page(reads="builder"),
    "first-plan-planking": Page(reads="builder", writes="builder"),
    "first-plan-gaps": Page(reads="builder", writes="builder"),
    "first-plan-skip": Page(reads=None, writes="builder"),
    "first-plan-leave": Page(reads=None, writes="builder"),
    "first-plan-put": Page(reads=None, writes="builder"),
    "first-plan-go": Page(reads=None, writes="builder"),
    "plan": Page(),
    "next-widths": Page(reads="builder"),
    "new-widths": Page(reads="builder"),
    "new-widths-put": Page(reads=None, writes="builder"),
    "bench": Page(),
    "undo": Page(reads=None, writes="helper"),
    "warning-hide": Page(reads=None, writes="helper", answers=frozenset({400})),
    "photo-note": Page(reads="helper", writes="helper"),
    "session-edit": Page(reads="helper", writes="helper"),
    "widths-record": Page(reads="helper", writes="helper"),
    "widths-redraw": Page(reads=None, writes="helper"),
    "widths-saved": Page(),
    "card-detail": Page(),
    "card-print": Page(reads=None, writes="helper"),
    "card-throw-away": Page(reads=None, writes="helper"),
    "planks-begin": Page(reads=None, writes="helper", answers=frozenset({302, 409})),
    "planks-cut": Page(reads=None, writes="helper"),
    "planks-dry-fit": Page(reads=None, writes="helper"),
    "planks-hang": Page(reads=None, writes="helper"),
    "planks-hang-unmeasured": Page(reads=None, writes="helper"),
    "planks-spoil": Page(reads="helper", writes="helper"),
    "planks-take-off": Page(reads="helper", writes="helper"),
    "planks-unhang": Page(reads="helper", writes="helper"),
    "gaps-record": Page(reads="helper", writes="helper"),
    "gaps-redraw": Page(reads=None, writes="helper"),
    "gaps-saved": Page(),
    "reading-amend": Page(reads="helper", writes="helper"),
    "hull": Page(),
    "opening-sums": Page(),
    "strake-detail": Page(),
}

# Pages that anybody may open, and how they answer without a valid token.
OPEN_PAGES = {
    "sign-in": {200},
    "one-time-link": {404},
    "card-scan": {404},}

# Pages of whoever is signed in, of no build.
OWN_PAGES = {
    "home": Page(reads="reader"),
    "build-list": Page(reads="reader"),
    "build-new": Page(reads="reader", writes="reader"),
    "account-detail": Page(reads="reader"),
    "account-rename": Page(reads=None, writes="reader"),
    "account-theme": Page(reads=None, writes="reader"),
    "account-password": Page(reads="reader", writes="reader"),
    "sign-out": Page(reads=None, writes="reader"),
}


# Names of pages whose one argument is a strake.
OF_A_STRAKE = ("widths-", "card-detail", "card-print", "planks-")


def width_of(hull):
    return factories.ReadingFactory(
        build=hull.build, opening=hull.opening, strake=hull.strakes["1"], station=hull.stations[1],
        person=hull.person,
    )  # fmt: skip


def arguments_of(name, hull) -> list:
    """Return the arguments of a URL for the small hull; rows that a page needs are made here."""
    build = hull.build.uuid
    one = {
        "opening-sums": lambda: [hull.opening.uuid],
        **{name: lambda: [hull.opening.uuid] for name in ("gaps-record", "gaps-redraw", "gaps-saved")},
        **{name: lambda: [hull.strakes["1"].uuid] for name in BUILD_PAGES if name.startswith(OF_A_STRAKE)},
        "card-throw-away": lambda: [factories.CardPrintFactory(plan_strake=hull.strakes["1"].plans.get()).uuid],
        "session-edit": lambda: [factories.SessionFactory(build=hull.build).uuid],
        "reading-amend": lambda: [width_of(hull).uuid],
        "strake-detail": lambda: [hull.strakes["1"].uuid],
        "first-run-back": lambda: ["build-scale", "-"],
        **{name: lambda: ["port"] for name in ("first-plan-gaps", "first-plan-skip")},
        **{name: lambda: [hull.opening.uuid] for name in ("new-widths", "new-widths-put")},
    }.get(name, list)
    return [build, *one()]
