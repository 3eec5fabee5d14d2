"""The sum a builder can follow with a pencil: the gap at one station, why it is short, and what is left of
it.

Short = planned gap less the gap there is. A shortage splits into what the widths took, what the girth
lacked, what the seams took, and what is left over. The doubt follows the law of propagation with correlated
inputs (GUM, JCGM 100:2008, 5.2): readings of one instrument share its zero, and all seams share their mean,
so those doubts add directly.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from planking.hung_widths import HungWidth, hung_widths, zero_counts, zero_of
from planking.opening import GapReading, Opening, Strake

U_GIRTH_PLANNED_MM = 0.25
"""A girth nobody read is known as well as a paper strip reads it (a reasoned default)."""


@dataclass(frozen=True)
class Split:
    """Why the gap is short: the parts add up to the shortage. Positive parts took room."""

    in_plan_mm: float
    widths_mm: float
    girth_mm: float
    seams_mm: float
    left_over_mm: float


@dataclass(frozen=True)
class PlainSum:
    """One station's sum. `gap_mm` is the latest gap read, brought forward by what was hung since."""

    station: str
    left: tuple[Strake, ...]
    closing: Strake | None
    planned_gap_mm: float
    gap_read_mm: float | None
    hung_since: tuple[str, ...]
    taken_since_mm: float
    gap_from_widths_mm: float | None
    gap_mm: float | None
    split: Split | None
    hung: tuple[HungWidth, ...]
    unknown: tuple[str, ...]
    seams_hung: int
    seams_to_go: int
    planned_seam_mm: float
    seam_mm: float
    seam_is_own: bool
    cut_off_mm: float
    doubt_mm: float
    weighed_mm: float = 0.0

    @property
    def short_mm(self) -> float | None:
        """Return how much the gap is short of the planned one; over is negative."""
        return None if self.gap_mm is None else self.planned_gap_mm - self.gap_mm - self.weighed_mm

    @property
    def room_mm(self) -> float | None:
        """Return the room for the widths left: the gap less the seams still to go."""
        if self.gap_mm is None:
            return None
        return self.gap_mm + self.weighed_mm - self.seams_to_go * self.seam_mm

    @property
    def planned_widths_mm(self) -> float:
        """Return the planned widths of the strakes left, together."""
        return self.planned_gap_mm - self.seams_to_go * self.planned_seam_mm

    @property
    def to_take_up_mm(self) -> float | None:
        """Return what the strakes left must give up together: the shortage, and the seams the plan left
        out."""
        room = self.room_mm
        return None if room is None else self.planned_widths_mm + self.cut_off_mm - room


def plain_sum(opening: Opening, station: str) -> PlainSum:
    """Return the plain sum of one station.

    The gap is the latest one read, less the widths and seams hung since; where none was read, the girth
    less all that is hung. The seam is the station's own, what is left over shared among the seams hung,
    where girth, widths and gap are all read well enough to say so, else the opening's. Lengths in mm.
    Source: derived here.

    >>> from planking.opening import GapReading, Opening, Station, Strake
    >>> strakes = tuple(Strake(label, "closing" if label == "2" else "wale", {"D": 5.0}) for label in "123")
    >>> gaps = (GapReading("D", 14.7, frozenset(), 0.05),)
    >>> found = plain_sum(Opening("port", (Station("D"),), strakes, gaps=gaps, planned_seam_mm=0.03), "D")
    >>> round(found.short_mm, 2), round(found.room_mm, 2)
    (0.42, 14.58)
    """
    here = opening.strakes_at(station)
    left = tuple(reversed([strake for strake in here if not strake.is_hung]))
    hung, unknown = hung_widths(opening, station)
    seams_hung = opening.seams_hung(station)
    to_go = opening.seams_in_all(station) - seams_hung
    planned_gap = sum(one.planned_mm[station] for one in left) + to_go * opening.planned_seam_mm
    gaps = opening.gaps_at(station)
    reading = gaps[-1] if gaps else None
    since = _since(opening, station, hung, reading)
    girth = _girth(opening, station)
    seam, own = _seam(opening, station, hung, unknown, reading, to_go)
    from_widths = None
    if girth is not None and not unknown:
        from_widths = (
            girth - sum(one.judged_by_mm + one.deviation_mm for one in hung) - seams_hung * opening.seam_mm
        )
    gap, read, taken = from_widths, None, 0.0
    if reading is not None:
        read = reading.gap_mm - (zero_of(opening, reading.epoch)[0] if reading.epoch else 0.0)
        seams_since = seams_hung - opening.seams_hung(station, reading.hung)
        taken = sum(one.judged_by_mm + one.deviation_mm for one in since) + seams_since * seam
        gap = read - taken
    return PlainSum(
        station=station,
        left=left,
        closing=closing_of(opening, left),
        planned_gap_mm=planned_gap,
        gap_read_mm=read,
        hung_since=tuple(one.strake for one in since),
        taken_since_mm=taken,
        gap_from_widths_mm=from_widths,
        gap_mm=gap,
        split=None
        if gap is None or unknown
        else _split(opening, station, hung, planned_gap - gap, seam if own else opening.seam_mm),
        hung=hung,
        unknown=unknown,
        seams_hung=seams_hung,
        seams_to_go=to_go,
        planned_seam_mm=opening.planned_seam_mm,
        seam_mm=seam,
        seam_is_own=own,
        # The last strake of all is trimmed to the gap: what it stands proud is no room that is lacking.
        cut_off_mm=cut_off_mm(opening, station, left) if len(left) > 1 else 0.0,
        doubt_mm=_doubt(opening, station, hung, reading, to_go),
    )


def correlated_doubt(independent_mm: Iterable[float], shared_mm: Iterable[float]) -> float:
    """Return the doubt of a sum: independent parts by the root of their squares, each shared part already
    added.

    u^2 = sum u_i^2 + sum over shared causes of (count x u)^2. Source: GUM, JCGM 100:2008, 5.2 (correlated
    inputs).

    >>> round(correlated_doubt([0.1] * 10, []), 3), round(correlated_doubt([], [10 * 0.1]), 3)
    (0.316, 1.0)
    """
    return math.sqrt(sum(u * u for u in independent_mm) + sum(u * u for u in shared_mm))


def closing_of(opening: Opening, left: tuple[Strake, ...]) -> Strake | None:
    """Return the strake that will be made to the gap: the closing one, else the last in its run."""
    for strake in left:
        if strake.run == "closing":
            return strake
    if not left:
        return None
    return left[-1] if left[0].run == "wale" else left[0]


def _girth(opening: Opening, station: str) -> float | None:
    reading = opening.girth_at.get(station)
    if reading is not None:
        return reading.girth_mm
    return None if opening.girth_planned_mm is None else opening.girth_planned_mm.get(station)


def _u_girth(opening: Opening, station: str) -> float:
    reading = opening.girth_at.get(station)
    return U_GIRTH_PLANNED_MM if reading is None else reading.u_mm


def _since(
    opening: Opening, station: str, hung: tuple[HungWidth, ...], gap: GapReading | None
) -> tuple[HungWidth, ...]:
    return () if gap is None else tuple(one for one in hung if one.strake not in gap.hung)


def _split(
    opening: Opening, station: str, hung: tuple[HungWidth, ...], short: float, seam: float
) -> Split | None:
    girth = _girth(opening, station)
    if girth is None or opening.girth_planned_mm is None or station not in opening.girth_planned_mm:
        return None
    planned_girth = opening.girth_planned_mm[station]
    seams = opening.seams_hung(station)
    left = [one for one in opening.strakes_at(station) if not one.is_hung]
    planned = sum(one.judged_by_mm for one in hung) + sum(one.planned_mm[station] for one in left)
    in_plan = planned + opening.seams_in_all(station) * opening.planned_seam_mm - planned_girth
    widths = sum(one.deviation_mm for one in hung)
    lacking = planned_girth - girth
    took = seams * (seam - opening.planned_seam_mm)
    return Split(in_plan, widths, lacking, took, short - in_plan - widths - lacking - took)


def cut_off_mm(opening: Opening, station: str, left: Iterable[Strake]) -> float:
    """Return how much wider than planned the strakes that are cut and not hung came out together, mm."""
    off = 0.0
    for strake in left:
        reading = opening.width_at.get((strake.label, station)) if strake.state == "cut" else None
        if reading is not None:
            off += reading.width_mm - zero_of(opening, reading.epoch)[0] - strake.planned_mm[station]
    return off


def _seam(
    opening: Opening,
    station: str,
    hung: tuple[HungWidth, ...],
    unknown: tuple[str, ...],
    gap: GapReading | None,
    to_go: int,
) -> tuple[float, bool]:
    """Return the seam at the station, and whether it is the station's own: what is left over, shared among
    its seams."""
    girth = opening.girth_at.get(station)
    if gap is None or girth is None or unknown:
        return opening.seam_mm, False
    behind = tuple(one for one in hung if one.strake in gap.hung)
    seams = opening.seams_hung(station, gap.hung)
    if not seams or any(opening.strake_by_label[label].is_hung is False for label in gap.hung):
        return opening.seam_mm, False
    read = gap.gap_mm - (zero_of(opening, gap.epoch)[0] if gap.epoch else 0.0)
    left_over = girth.girth_mm - sum(one.judged_by_mm + one.deviation_mm for one in behind) - read
    loose = correlated_doubt([gap.u_mm, girth.u_mm, *(one.u_mm for one in behind)], [])
    limit = opening.limits.step_share * max(
        (one.planned_mm.get(station, 0.0) for one in opening.strakes), default=0.0
    )
    own = left_over / seams
    apart = abs(left_over - seams * opening.seam_mm)
    sure = loose * max(to_go, 1) / seams <= limit / 2
    agrees = apart <= 1.96 * correlated_doubt(
        [loose, opening.seam_scatter_mm * math.sqrt(seams)], [seams * opening.u_seam_mm]
    )
    return (own, True) if sure and agrees and own >= 0 else (opening.seam_mm, False)


def _doubt(
    opening: Opening, station: str, hung: tuple[HungWidth, ...], gap: GapReading | None, to_go: int
) -> float:
    """Return the standard doubt of the room for the widths left: gap (or girth), widths since, zeros,
    seams."""
    behind = hung if gap is None else _since(opening, station, hung, gap)
    counts = dict(zero_counts(behind))
    if gap is not None and gap.epoch is not None:
        counts[gap.epoch] = counts.get(gap.epoch, 0) - 1
    since = opening.seams_hung(station) - (0 if gap is None else opening.seams_hung(station, gap.hung))
    base = _u_girth(opening, station) if gap is None else gap.u_mm
    seams = since + to_go
    independent = [base, *(one.u_mm for one in behind), opening.seam_scatter_mm * math.sqrt(seams)]
    shared = [number * zero_of(opening, epoch)[1] for epoch, number in counts.items()]
    return correlated_doubt(independent, [*shared, seams * opening.u_seam_mm])
