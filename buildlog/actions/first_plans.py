"""The plan made of a gap: strakes numbered from the keel side, the gap split among those left.

Nothing but gaps and counts is needed. Later on, new widths come from actions/new_widths.py.
"""

import uuid
from dataclasses import dataclass, field
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from buildlog.models import Build, Instrument, Plank, PlankStep, PlanStrake, Reading, Strake
from planking.lengths import from_nm, split_nm

from .builds import has_plan
from .events import tell_event
from .planks import revision_in_force
from .plans import draft_revision, plan_opening, plan_strake, put_in_force
from .readings import record_reading
from .sessions import session_for

Run = PlanStrake.Run


@dataclass(frozen=True)
class Laid:
    """One strake as it is laid out: its place from the keel side, its run, and where along the hull it is."""

    position: int
    run: str
    is_open: bool
    # Indexes of the stations it reaches; all of them for a full strake.
    reaches: tuple[int, ...]


@dataclass
class SideTold:
    """What was told of one side: strakes hung from either line, strakes left and the gap at each station."""

    opening: object
    hung_keel: int
    hung_wale: int
    left_at: list[int]
    # By index of station: nm on the model and how it was typed; empty where this side is measured later.
    gaps: dict[int, dict] = field(default_factory=dict)
    read_at: datetime | None = None


def lay_out(hung_keel: int, hung_wale: int, left_at: list[int], runs: str) -> list[Laid]:
    """Return the strakes of an opening from the keel side on; some stop short along the hull."""
    left = max(left_at)
    closing = closing_position(hung_keel, left, runs)
    order = dropping_order(hung_keel, left, closing, runs)
    dropped = {position: rank for rank, position in enumerate(order, start=1)}
    laid = []
    for position in range(1, hung_keel + left + hung_wale + 1):
        is_open = hung_keel < position <= hung_keel + left
        run = Run.CLOSING if position == closing else Run.KEEL if position < closing else Run.WALE
        # The first in the order is dropped wherever one is missing, the second wherever two are.
        rank = dropped.get(position)
        reaches = tuple(i for i, count in enumerate(left_at) if rank is None or left - count < rank)
        laid.append(Laid(position, run, is_open, reaches if is_open else tuple(range(len(left_at)))))
    return laid


def closing_position(hung_keel: int, left: int, runs: str) -> int:
    """Return the closing strake: the middle one of those left, or the last that a single run comes to."""
    if runs == "wale":
        return hung_keel + 1
    if runs == "keel":
        return hung_keel + left
    return hung_keel + (left + 1) // 2


def dropping_order(hung_keel: int, left: int, closing: int, runs: str) -> list[int]:
    """Return the open strakes in the order in which they may stop short, nearest the closing strake first.

    Never the closing one; the strakes that hang next come last of all, where the count leaves nothing else.
    """
    first, last = hung_keel + 1, hung_keel + left
    next_ones = {"both": [first, last], "keel": [first], "wale": [last]}[runs]
    others = [p for p in range(first, last + 1) if p != closing]
    return sorted(others, key=lambda p: (p in next_ones, abs(p - closing), p < closing))


def spans_of(laid: Laid, frames: list[int]) -> list[list[int]]:
    """Return the stretches of frame numbers a strake covers; empty for one from end to end."""
    if len(laid.reaches) == len(frames):
        return []
    stretches: list[list[int]] = []
    for index in laid.reaches:
        if stretches and frames.index(stretches[-1][1]) == index - 1:
            stretches[-1][1] = frames[index]
        else:
            stretches.append([frames[index], frames[index]])
    return stretches


def split_gap(gap_nm: int, laid: list[Laid], index: int) -> dict[int, int]:
    """Return the width of each open strake that reaches a station, in whole nm that add up to the gap
    exactly.
    """
    here = [one.position for one in laid if one.is_open and index in one.reaches]
    return dict(zip(here, split_nm(from_nm(gap_nm), len(here)), strict=True))


def put_first_plan(build, sides: list[SideTold], *, runs, person, account, now):
    """Record the gaps, make revision 1 of them and put it in force. A double tap makes one plan."""
    with transaction.atomic():
        Build.objects.select_for_update(no_key=True).get(pk=build.pk)
        if has_plan(build):
            return revision_in_force(build)
        stations = list(build.stations.select_related("frame").order_by("position"))
        revision = draft_revision(build, reason=_("First plan: the gap divided by the strakes left."),
                                  person=person, now=now)  # fmt: skip
        hung = []
        for side in sides:
            hung += _lay_side(revision, side, stations, runs)
            _record_gaps(build, side, stations, person=person, account=account, now=now)
        put_in_force(revision, person=person, now=now)
        _hang_before(build, hung, revision, now=now)
        Build.objects.filter(pk=build.pk, set_up_at__isnull=True).update(set_up_at=now)
        tell_event("set up", build, build=build, now=now, person=person, account=account)
    return revision


def _hang_before(build, strakes, revision, *, now):
    """Hang what hung before this log, all at once: nobody is named, and nothing is known of when.

    The time is that of the build's beginning, so that every gap was read with these strakes on.
    """
    state, before = Plank.State.HUNG, Plank.Measured.BEFORE_LOG
    planks = Plank.objects.bulk_create(
        [Plank(strake=strake, revision=revision, state=state, measured=before) for strake in strakes]
    )
    times = {"happened_at": build.created_at, "known_at": build.created_at, "received_at": now}
    PlankStep.objects.bulk_create([PlankStep(plank=one, state=state, measured=before, **times) for one in planks])


def _lay_side(revision, side: SideTold, stations, runs) -> list[Strake]:
    """Write one side of the first revision; return the strakes that hung before this log."""
    laid = lay_out(side.hung_keel, side.hung_wale, side.left_at, runs)
    _write_girths(plan_opening(revision, side.opening), side, stations)
    frames = [station.frame.number for station in stations]
    shares = {index: split_gap(gap["nm"], laid, index) for index, gap in side.gaps.items()}
    hung = []
    for one in laid:
        strake = Strake.objects.create(opening=side.opening)
        widths = {stations[i]: share[one.position] for i, share in shares.items() if one.position in share}
        spans = spans_of(one, frames)
        plan_strake(
            revision, strake, label=str(one.position), position=one.position, run=one.run, widths_nm=widths,
            spans=spans, kind=PlanStrake.Kind.DROP if spans else PlanStrake.Kind.FULL,
        )  # fmt: skip
        if not one.is_open:
            hung.append(strake)
    return hung


def _write_girths(plan, side, stations):
    for index, gap in side.gaps.items():
        plan.girths.create(station=stations[index], girth_nm=gap["nm"])


def _record_gaps(build, side: SideTold, stations, *, person, account, now):
    strip = build.instruments.filter(kind=Instrument.Kind.STRIP).order_by("pk").first()
    read_at = side.read_at or now
    session = session_for(build, person=person, now=now, happened_at=read_at) if side.gaps else None
    for index, gap in side.gaps.items():
        station = stations[index]
        record_reading(
            build, client_uuid=uuid.uuid5(build.uuid, f"first gap {side.opening.uuid} {station.uuid}"),
            now=now, happened_at=read_at, known_at=read_at, kind=Reading.Kind.GAP, opening=side.opening,
            station=station, value_nm=gap["nm"], typed=gap["typed"], unit=gap["unit"], size=gap["size"],
            kept_reason=gap.get("reason", ""), method=Reading.Method.PAPER_STRIP, instrument=strip,
            session=session, person=person, entered_by=account,
        )  # fmt: skip
