"""New widths for the strakes not yet in hand: the gap that was read, shared out station by station."""

from dataclasses import dataclass, field, replace
from fractions import Fraction
from statistics import median

from buildlog.models import NM_PER_MM, Opening, PlanOpening
from buildlog.queries.plans import StrakeOfPlan
from buildlog.queries.readings import counting_gaps, counting_widths
from planking.errors import PlankingError
from planking.lengths import NM, round_run
from planking.next_widths import StationGap, next_widths

from .first_answers import limits_for
from .instruments import width_mm
from .openings import facts_of
from .reviews import review_of
from .shop import seam_of_shop

# Widths that differ by less are one width to whoever sets a caliper.
SHOWN_ALIKE_NM = 5_000
# A seam is shown to the thousandth.
SHOWN_SEAM_NM = 500
# Two-sided 99 % of the normal distribution.
SURE = 2.576
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
        """The one width of all strakes here as it is shown, or None where the plan has them differ."""
        widths = list(self.widths.values())
        if not widths or max(widths) - min(widths) > SHOWN_ALIKE_NM:
            return None
        return round(Fraction(self.total_nm, len(widths)))

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
    added: int
    warnings: list
    missing: list
    trouble: str = ""
    left_out: list = field(default_factory=list)
    # What tells the seam: joints, hung, or plan where nothing has told of it yet.
    seam_by: str = "plan"

    @property
    def seam_nm(self) -> int:
        """What the plan leaves for a seam: the middle of what seams take at the stations that were read."""
        return int(median(share.seam_nm for share in self.shares)) if self.shares else 0

    @property
    def left(self) -> int:
        return len(self.open_strakes) + self.added

    @property
    def none_alike(self) -> bool:
        """Whether every station has its widths strake by strake, so that none can be told as one."""
        return all(share.each_nm is None for share in self.shares)

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
    going = _leave_out(open_strakes, -added) if added < 0 else open_strakes
    shares, missing, trouble = [], [], ""
    gaps, read = _gaps_now(opening), _widths_of_kept(opening, kept)
    for station in stations:
        found = gaps.get(station.pk)
        here = [s for s in going if reaches(s, station)]
        if found is None or not here:
            if found is None:
                missing.append(station)
            continue
        try:
            shares.append(_share(opening, station, found, here, kept, added, read))
        except PlankingError as refused:
            trouble = trouble or refused.sentence
    labels = {s.plan.strake_id: s.label for s in open_strakes} | {-n: "" for n in range(1, added + 1)}
    return _by_what(strakes, NewWidths(
        opening=opening, shares=shares, open_strakes=open_strakes, kept=kept, labels=labels, added=added,
        warnings=_warnings(opening, shares, open_strakes), missing=missing,
        trouble=trouble, left_out=[s for s in open_strakes if s not in going],
    ))  # fmt: skip


def _by_what(strakes, found) -> NewWidths:
    """Return the widths with what tells their seam: the test joints or the plan, unless what hangs took otherwise."""
    joints = seam_of_shop(found.opening.build)
    if joints:
        agree, before = abs(found.seam_nm / NM_PER_MM - joints.seam_mm) <= 2 * joints.u_mm, "joints"
    else:
        revision = strakes[0].plan.revision_id if strakes else None
        plan = PlanOpening.objects.filter(revision=revision, opening=found.opening).first()
        agree, before = abs(found.seam_nm - (plan.planned_seam_nm if plan else 0)) < SHOWN_SEAM_NM, "plan"
    return replace(found, seam_by=before if agree else "hung")


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


def _gaps_now(opening) -> dict[int, "Gap"]:
    """Return the gap at each station pk as it is now: the last reading, less what was hung since, and where all
    readings together say otherwise, what they say.
    """
    read = {pk: rows[0] for pk, rows in counting_gaps(opening).items() if rows}
    reviewed = _reviewed_stations(opening)
    found = {}
    for pk, latest in read.items():
        at = reviewed.get(latest.reading.station.name)
        if at is None or at.gap_read_mm is None or at.gap_mm is None or at.room_mm is None:
            found[pk] = Gap(latest.value_nm, latest.happened_at, (), 0)
        else:
            gap_nm, seam_nm = round(_gap_mm(at) * NM_PER_MM), round(at.seam_mm * NM_PER_MM)
            found[pk] = Gap(gap_nm, latest.happened_at, tuple(at.hung_since), max(seam_nm, 0))
    return found


def _gap_mm(at) -> float:
    """Return the gap that all readings together leave, so that the new plan closes on what is believed.

    Where they stand further apart than chance allows, the gap that was read is the one to trust.
    """
    weighed_mm = at.room_mm + at.seams_to_go * at.seam_mm
    return weighed_mm if abs(weighed_mm - at.gap_mm) <= SURE * at.doubt_mm else at.gap_mm


@dataclass(frozen=True)
class Gap:
    """One station's gap now, when it was read, what was hung since, and what a seam takes there."""

    nm: int
    read_at: object
    hung_since: tuple
    seam_nm: int


def _reviewed_stations(opening) -> dict:
    """Return the reviews of the stations by name; the seam and the gap now are theirs, so the pages agree."""
    try:
        review = review_of(opening)
    except PlankingError:
        return {}
    return {station.station: station for station in review.stations} if review else {}


def _share(opening, station, gap, here, kept, added, read) -> StationShare:
    kept_here = [s for s in kept if reaches(s, station)]
    kept_nm = sum(_width_of_kept(read, s, station) for s in kept_here)
    left = len(here) + max(added, 0)
    ends = (opening.keel_edge == Opening.Edge.FIXED) + (opening.wale_edge == Opening.Edge.FIXED)
    seams = left + len(kept_here) - 1 + ends
    was = {s.plan.strake_id: s.widths[station.pk].width_nm for s in here if station.pk in s.widths}
    keys = [s.plan.strake_id for s in here] + [-n for n in range(1, added + 1)]
    room_nm = gap.nm - kept_nm - seams * gap.seam_nm
    keeps_shape = not added and len(was) == len(here)
    each = _shaped(list(was.values()), room_nm) if keeps_shape else None
    each = each or _equal(station, room_nm, left)
    widths = dict(zip(keys, round_run(each, NM).steps, strict=True))
    return StationShare(
        station, gap.nm, gap.read_at, gap.hung_since, kept_nm, seams, gap.seam_nm, left, widths, was
    )


def _shaped(planned, room_nm) -> list[Fraction] | None:
    """Return the planned widths, each changed by the same amount to fill the room; None if one is gone."""
    change = Fraction(room_nm - sum(planned), len(planned))
    each = [(nm + change) / NM_PER_MM for nm in planned]
    return each if min(each) > 0 else None


def _equal(station, room_nm, left) -> list[Fraction]:
    """Return the room in equal parts. Raises PlankingError, naming the station, where there is none."""
    gap = StationGap(station.name, Fraction(max(room_nm, 0), NM_PER_MM), left)
    return list(next_widths([gap]).stations[0].widths_mm)


def _widths_of_kept(opening, kept) -> dict[tuple[int, int], int]:
    """Return what was read of the strakes in hand by ``(strake pk, station pk)``, less the zero of the instrument."""
    counting = counting_widths(opening) if kept else {}
    try:
        facts = facts_of(opening) if counting else None
    except PlankingError:
        facts = None
    labels = {strake.plan.strake_id: strake.label for strake in kept}
    found = {}
    for (strake, station), one in counting.items():
        told = width_mm(facts, labels[strake], one.reading.station.name) if facts and strake in labels else None
        found[strake, station] = one.value_nm if told is None else round(told * NM_PER_MM)
    return found


def _width_of_kept(read, strake, station) -> int:
    """A strake in hand takes what was read of it, or what its card says."""
    width = strake.widths.get(station.pk)
    return read.get((strake.plan.strake_id, station.pk), width.width_nm if width else 0)


def _warnings(opening, shares, open_strakes) -> list[str]:
    """Return what is odd about the widths. The full width they are held to is the plan's at dead flat: with another
    number of strakes the new widths would be held to themselves.
    """
    if not shares:
        return []
    gaps = [StationGap(s.station.name, Fraction(s.total_nm, NM_PER_MM), len(s.widths)) for s in shares]
    flat = next((s.station for s in shares if s.station.is_dead_flat), None)
    planned = [s.widths[flat.pk].width_nm for s in open_strakes if flat and flat.pk in s.widths]
    full_nm = Fraction(max(planned)) if planned else _even_share(shares)
    found = next_widths(gaps, limits=limits_for(full_nm, opening.stock_width_nm))
    return [warning.sentence for warning in found.warnings]


def _even_share(shares) -> Fraction | None:
    return next((Fraction(s.total_nm, len(s.widths)) for s in shares if s.station.is_dead_flat), None)
