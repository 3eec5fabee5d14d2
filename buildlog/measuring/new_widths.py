"""New widths for the strakes not yet in hand: the gap that was read, shared out station by station."""

from dataclasses import dataclass, field
from fractions import Fraction

from buildlog.models import NM_PER_MM, Opening, PlanOpening
from buildlog.queries.plans import StrakeOfPlan
from buildlog.queries.readings import counting_gaps, counting_widths
from planking.errors import PlankingError
from planking.lengths import NM, round_run
from planking.next_widths import StationGap, next_widths

from .reviews import review_of

# A strake somebody has on the bench keeps the width on its card.
IN_HAND = ("cutting", "cut", "dry_fitted")


@dataclass(frozen=True)
class StationShare:
    """One station: the gap now, what comes off it, and the new widths by strake pk from the keel side."""

    station: object
    gap_nm: int
    read_at: object
    hung_since: tuple
    kept_nm: int
    seams: int
    seam_nm: int
    left: int
    widths: dict
    was: dict

    @property
    def room_nm(self) -> int:
        return self.gap_nm - self.kept_nm - self.seams * self.seam_nm

    @property
    def each_nm(self) -> int | None:
        """The one width of all strakes here, or None where the plan has them differ."""
        widths = list(self.widths.values())
        return widths[0] if widths and max(widths) - min(widths) <= 1 else None

    @property
    def total_nm(self) -> int:
        return sum(self.widths.values())


@dataclass(frozen=True)
class NewWidths:
    """What an opening's gap asks for; in ``labels`` a key below zero is a strake not made yet."""

    opening: Opening
    shares: list
    open_strakes: list
    kept: list
    labels: dict
    seam_nm: int
    seam_words: str
    added: int
    warnings: list
    missing: list
    trouble: str = ""
    left_out: list = field(default_factory=list)

    @property
    def left(self) -> int:
        return len(self.open_strakes) + self.added

    @property
    def all_alike(self) -> bool:
        return all(share.each_nm is not None for share in self.shares)


def new_widths_of(opening, strakes: list[StrakeOfPlan], stations, *, left: int | None = None) -> NewWidths:
    """Return the widths that the gaps read last ask of the strakes not yet in hand.

    Where the count stays, what the gap lacks or has over is shared evenly, so that the planned shape stays.
    With another count (``left``), or before there were widths, each strake has the same share.
    """
    open_strakes = [s for s in strakes if s.state.state == "open"]
    kept = [s for s in strakes if s.state.state in IN_HAND]
    added = 0 if left is None else left - len(open_strakes)
    seam_nm, seam_words = _seam_of(opening, strakes)
    going = _leave_out(open_strakes, -added) if added < 0 else open_strakes
    shares, missing, trouble = [], [], ""
    gaps = _gaps_now(opening)
    for station in stations:
        found = gaps.get(station.pk)
        here = [s for s in going if reaches(s, station)]
        if found is None or not here:
            if found is None:
                missing.append(station)
            continue
        try:
            shares.append(_share(opening, station, found, here, kept, seam_nm, max(added, 0), bool(added)))
        except PlankingError as refused:
            trouble = trouble or refused.sentence
    labels = {s.plan.strake_id: s.label for s in open_strakes} | {-n: "" for n in range(1, added + 1)}
    return NewWidths(
        opening=opening, shares=shares, open_strakes=open_strakes, kept=kept, labels=labels, seam_nm=seam_nm,
        seam_words=seam_words, added=added, warnings=_warnings(opening, shares), missing=missing,
        trouble=trouble, left_out=[s for s in open_strakes if s not in going],
    )  # fmt: skip


def reaches(strake: StrakeOfPlan, station) -> bool:
    """Return whether a strake is there at a station: by its spans, where it stops short."""
    spans = strake.plan.spans
    if not spans or station.frame is None:
        return True
    return any(first <= station.frame.number <= last for first, last in spans)


def _leave_out(open_strakes, count):
    """Leave out strakes of a run, those nearest the closing one first; never it, nor the one to hang next."""
    closing = next((s.plan.position for s in open_strakes if s.plan.run == "closing"), 0)
    ends = {open_strakes[0].plan.pk, open_strakes[-1].plan.pk}
    others = [s for s in open_strakes if s.plan.run != "closing"]
    order = sorted(
        others, key=lambda s: (s.plan.pk in ends, abs(s.plan.position - closing), s.plan.position < closing)
    )
    gone = {s.plan.pk for s in order[:count]}
    return [s for s in open_strakes if s.plan.pk not in gone]


def _seam_of(opening, strakes) -> tuple[int, str]:
    """Return the seam to leave room for: the builder's own test joint, else what the plan says."""
    joint = opening.build.test_joints.order_by("-happened_at", "-pk").first()
    if joint:
        return joint.seam_nm, "test joint"
    plan = (
        PlanOpening.objects.filter(opening=opening, revision=strakes[0].plan.revision_id).first()
        if strakes
        else None
    )
    return (plan.planned_seam_nm if plan else 0), "plan"


def _gaps_now(opening) -> dict:
    """Return the gap at each station pk as it is now: the last reading, less what was hung since."""
    read = counting_gaps(opening)
    try:
        review = review_of(opening)
    except PlankingError:
        review = None
    names = {r[0].reading.station_id: r[0].reading.station.name for r in read.values() if r}
    found = {}
    for pk, readings in read.items():
        latest = readings[0]
        gap_nm, since = latest.value_nm, ()
        station = next((s for s in review.stations if s.station == names[pk]), None) if review else None
        if station is not None and station.gap_read_mm is not None and station.gap_mm is not None:
            gap_nm, since = round(station.gap_mm * NM_PER_MM), station.hung_since
        found[pk] = (gap_nm, latest.happened_at, since)
    return found


def _share(opening, station, found, here, kept, seam_nm, added, equal) -> StationShare:
    gap_nm, read_at, since = found
    kept_nm = sum(_width_of_kept(opening, s, station) for s in kept if reaches(s, station))
    kept_here = sum(reaches(s, station) for s in kept)
    left = len(here) + added
    ends = (opening.keel_edge == Opening.Edge.FIXED) + (opening.wale_edge == Opening.Edge.FIXED)
    seams = left + kept_here - 1 + ends
    planned = [s.widths[station.pk].width_nm for s in here if station.pk in s.widths]
    room = gap_nm - kept_nm - seams * seam_nm
    keys = [s.plan.strake_id for s in here] + [-n for n in range(1, added + 1)]
    if equal or len(planned) != len(here):
        each = (
            next_widths([StationGap(station.name, Fraction(max(room, 0), NM_PER_MM), left)])
            .stations[0]
            .widths_mm
        )
    else:
        change = Fraction(room - sum(planned), len(planned))
        each = [(nm + change) / NM_PER_MM for nm in planned]
        if min(each) <= 0:
            each = (
                next_widths([StationGap(station.name, Fraction(max(room, 0), NM_PER_MM), left)])
                .stations[0]
                .widths_mm
            )
    widths = dict(zip(keys, round_run(list(each), NM).steps, strict=True))
    was = {s.plan.strake_id: s.widths[station.pk].width_nm for s in here if station.pk in s.widths}
    return StationShare(station, gap_nm, read_at, tuple(since), kept_nm, seams, seam_nm, left, widths, was)


def _width_of_kept(opening, strake, station) -> int:
    """A strake in hand takes what was read of it, or what its card says."""
    reading = counting_widths(opening).get((strake.plan.strake_id, station.pk))
    if reading:
        return reading.value_nm
    width = strake.widths.get(station.pk)
    return width.width_nm if width else 0


def _warnings(opening, shares) -> list[str]:
    from .first_answers import limits_for

    if not shares:
        return []
    gaps = [StationGap(s.station.name, Fraction(s.total_nm, NM_PER_MM), len(s.widths)) for s in shares]
    flat = next((Fraction(s.total_nm, len(s.widths)) for s in shares if s.station.is_dead_flat), None)
    found = next_widths(gaps, limits=limits_for(flat, opening.stock_width_nm))
    return [warning.sentence for warning in found.warnings]
