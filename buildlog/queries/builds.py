"""Builds of an account, and how far a build's first run has come."""

from dataclasses import dataclass

from django.utils.dateparse import parse_datetime

from buildlog.models import Build, Membership, PlanRevision

# The pages of the first run in their order; the pages of gaps, one a side, come after them.
PAGES = ["build-name", "build-scale", "build-sides", "station-count", "station-names", "first-plan-planking"]


@dataclass(frozen=True)
class BuildOfAccount:
    build: Build
    role: str
    has_plan: bool

    @property
    def is_set_up(self) -> bool:
        return self.has_plan or self.build.photographs_only or self.build.set_up_at is not None


def builds_of_account(account) -> list[BuildOfAccount]:
    """Return the builds of an account, newest first, each with the role and whether a plan stands. Two
    queries.
    """
    memberships = Membership.objects.filter(account=account).select_related("build")
    memberships = list(memberships.order_by("-build__created_at", "-build__pk"))
    planned = set(
        PlanRevision.objects.filter(
            build__in=[m.build_id for m in memberships], state=PlanRevision.State.IN_FORCE
        ).values_list("build_id", flat=True)
    )
    return [BuildOfAccount(m.build, m.role, m.build_id in planned) for m in memberships]


def build_to_open(account) -> BuildOfAccount | None:
    """Return the build the front page leads to: the last one looked at, or the only one of a guest.

    Whoever may start builds and has looked at none yet is asked: their own, or the sample.
    """
    builds = builds_of_account(account)
    last = next((one for one in builds if one.build.pk == account.last_build_id), None)
    return last or (builds[0] if len(builds) == 1 and not account.may_start_builds else None)


@dataclass(frozen=True)
class Told:
    """What the first run was told of one side."""

    side: str
    counts: dict
    left_at: list[int]
    # By index of the station: nm, text as typed, unit, size, reason.
    gaps: dict[int, dict]
    skipped: bool
    read_at: object


def told_of(build, side: str) -> Told | None:
    """Return what was told of a side, or None before its planking was told."""
    counts = build.first_run.get("planking", {}).get("sides", {}).get(side)
    if counts is None:
        return None
    count = build.first_run["count"]
    given = (
        (build.first_run.get("left_at") or [None] * count)
        if counts == _first_counts(build)
        else [None] * count
    )
    gaps = build.first_run.get("gaps", {}).get(side, {})
    return Told(
        side=side,
        counts=counts,
        left_at=[here or counts["left"] for here in given],
        gaps={int(index): gap for index, gap in gaps.get("by_station", {}).items()},
        skipped=gaps.get("skipped", False),
        read_at=parse_datetime(gaps["at"]) if gaps.get("at") else None,
    )


def _first_counts(build):
    """The counts of the first side, by which the page asked how many are left at each place."""
    return build.first_run["planking"]["sides"][build.side_list[0]]


def first_run_step(build) -> tuple[str, str]:
    """Return the page of the first run that is still to be answered, and its side where it has one."""
    told = build.first_run
    if not told.get("scale_told"):
        return "build-scale", ""
    if not build.openings.exists():
        return "build-sides", ""
    if not told.get("count"):
        return "station-count", ""
    if not build.stations.exists():
        return "station-names", ""
    if "planking" not in told:
        return "first-plan-planking", ""
    for side in build.side_list:
        if not told_of(build, side).gaps and not told_of(build, side).skipped:
            return "first-plan-gaps", side
    return "first-plan", ""


@dataclass(frozen=True)
class Question:
    """One page of the first run: its number, how many there are, and the page before it."""

    number: int
    total: int
    page: str
    before: tuple[str, str] | None


def question_of(build, page: str, side: str = "") -> Question:
    """Return where a page stands in the first run; each side has a page of gaps of its own."""
    pages = [(name, "") for name in PAGES] + [("first-plan-gaps", side) for side in build.side_list]
    if page == "first-plan":
        return Question(len(pages), len(pages), page, pages[-1])
    at = pages.index((page, side))
    return Question(at + 1, len(pages), page, pages[at - 1] if at else None)
