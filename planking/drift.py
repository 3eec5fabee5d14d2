"""Where the planks lie against the plan, and what to do: carry on, spread it, change the plan, measure the
gap.

With S the millimetres the strakes left must give up together, u its standard doubt, L the step the eye sees
and C what it forgives over all strakes left:

    carry on          |S| + 1.645 u <= L      left alone, the closing strake shows no step, beyond doubt
    change the plan   |S| - 1.645 u >  C      even spread it shows, beyond doubt
    spread it         between the two
    measure the gap   none was ever read, or one is due, and the doubt straddles L or C

Where nothing is due, a doubt that straddles L is decided by the best estimate; *change the plan* keeps its
guard band.
"""

from dataclasses import dataclass, replace
from itertools import pairwise

from planking import agreement, counts, cuts, estimate, sum_in_words
from planking.gap_checks import due_stations
from planking.hung_widths import HungWidth, zero_counts, zero_of
from planking.offered import GUARD, NEWS_MM, why_offered
from planking.opening import Opening, Strake
from planking.plain_sum import PlainSum, correlated_doubt, cut_off_mm, plain_sum
from planking.reviewed import (
    CountThatWouldDo,
    DriftPoint,
    NewWidth,
    OpeningReview,
    StationReview,
    Verdict,
    WidthNews,
)

GAP_READING_U_MM = 0.10
"""The doubt of one gap reading by a paper strip."""


@dataclass(frozen=True)
class Judged:
    """One station's verdict, why, and whether the best estimate had to decide it."""

    verdict: Verdict
    reason: str
    about_at_limit: bool = False


def review(opening: Opening, *, solved: estimate.Ledger | None = None) -> OpeningReview:
    """Return what to do about an opening: a verdict, its reason and its sum at every station, and for the
    whole.

    Works from whatever is there: gaps only, widths only, one run, one station, nothing at all. The opening
    says *change the plan* only where two neighbouring stations do. Lengths in mm on the model.

    >>> from planking.opening import GapReading, Station, Strake
    >>> strakes = tuple(Strake(label, "closing" if label == "2" else "wale", {"D": 5.0}) for label in "123")
    >>> gaps = (GapReading("D", 13.6, frozenset(), 0.05),)
    >>> review(Opening("port", (Station("D"),), strakes, gaps=gaps, planned_seam_mm=0.03)).verdict
    'change_plan'
    """
    due = due_stations(opening)
    solved = solved or estimate.ledger(opening)
    if solved.girth_slips:
        opening = replace(
            opening, girths=tuple(one for one in opening.girths if one.station not in solved.girth_slips)
        )
    plain = [plain_sum(opening, one.name) for one in opening.stations]
    sums = weighed_sums(opening, solved, plain, due)
    judged = [judge(opening, one, is_due=one.station in due) for one in sums]
    would_do = counts.counts_that_would_do(opening, sums)
    stations = tuple(
        _station_review(opening, one, verdict, would_do) for one, verdict in zip(sums, judged, strict=True)
    )
    verdict, reason = _opening_verdict(stations)
    worst = _worst(stations, verdict)
    also = _dead_flat(opening, worst)
    offered, why = _new_widths_offered(sums)
    changes = any(one.verdict == "change_plan" for one in judged)
    return OpeningReview(
        side=opening.side,
        verdict=verdict,
        reason=reason,
        sentence=sum_in_words.opening_sentence(opening, stations, verdict, reason, worst, also),
        worst=worst,
        also=also,
        stations=stations,
        strakes_left=tuple(one.label for one in reversed(opening.strakes) if not one.is_hung),
        hung=sum(one.is_hung for one in opening.strakes),
        gap_checks_due=due,
        gap_check_sentence=sum_in_words.gap_check_sentence(opening, due),
        new_widths_offered=offered,
        new_widths_reason=why,
        news=_news(stations) if offered else (),
        notes=(*agreement.notes(opening, solved, plain), *cuts.notes(opening)),
        counts_that_would_do=would_do if changes else (),
    )


def weighed_sums(
    opening: Opening, solved: estimate.Ledger, plain: list[PlainSum], due: tuple[str, ...] = ()
) -> list[PlainSum]:
    """Return the plain sums with the ledger's doubt, and its correction where it matters.

    A sum that a pencil can follow stands as it is while it agrees with all readings weighed together within
    one standard doubt and both come to one verdict; else the difference is a line of the sum, so that it
    still adds up.
    """
    room = estimate.room(solved)
    found = []
    for one, mean, u in zip(plain, room.mean, room.u, strict=True):
        there = one.room_mm
        apart = 0.0 if there is None else float(mean) - (there - _cut_widths(opening, one))
        stands, weighed = replace(one, doubt_mm=float(u)), replace(one, doubt_mm=float(u), weighed_mm=apart)
        verdicts = {judge(opening, sum_, is_due=one.station in due).verdict for sum_ in (stands, weighed)}
        found.append(stands if abs(apart) <= float(u) and len(verdicts) == 1 else weighed)
    return found


def _cut_widths(opening: Opening, plain: PlainSum) -> float:
    """Return the widths of the strakes cut but not hung: the ledger's room is what is left beside them."""
    cut = [one for one in plain.left if one.state == "cut"]
    return sum(one.planned_mm[plain.station] for one in cut) + cut_off_mm(opening, plain.station, cut)


def judge(opening: Opening, plain: PlainSum, *, is_due: bool) -> Judged:
    """Return the verdict of one station with its reason code (the rules stand at the head of this file).

    Reasons: closed, closed_here, made_to_gap, inside_limit, shows_left_alone, shows_when_spread, never_read,
    check_due, nothing_known.
    """
    if not plain.left:
        return Judged("carry_on", "closed_here" if opening.strakes and not _is_closed(opening) else "closed")
    take_up = plain.to_take_up_mm
    if take_up is None:
        return Judged("measure_gap", "nothing_known")
    size, band = abs(take_up), GUARD * plain.doubt_mm
    step, capacity = step_limit_mm(opening, plain), capacity_mm(opening, plain)
    straddles = abs(size - step) < band or abs(size - capacity) < band
    if straddles and (plain.gap_read_mm is None or is_due):
        return Judged("measure_gap", "never_read" if plain.gap_read_mm is None else "check_due")
    if size - band > capacity:
        return Judged("change_plan", "shows_when_spread")
    near = abs(size - step) < band
    if len(plain.left) == 1:
        return Judged("carry_on", "made_to_gap", near)
    if size <= step:
        return Judged("carry_on", "inside_limit", near)
    return Judged("spread_it", "shows_left_alone", near)


def step_limit_mm(opening: Opening, plain: PlainSum) -> float:
    """Return the step the eye sees in the closing strake: a share of its planned width, and never under
    twice the repeatability of the instrument it would be read with."""
    closing = plain.closing
    width = 0.0 if closing is None else closing.planned_mm[plain.station]
    finest = min((epoch.u_reading_mm for epoch in opening.epochs), default=0.0)
    return max(opening.limits.step_share * width, 2 * finest)


def capacity_mm(opening: Opening, plain: PlainSum) -> float:
    """Return how much the strakes left can give up (or take on) together before the eye sees it.

    C = sum over the rest of min(step share x w, way to the limit) + min(closing share x w, way to the limit)
    for the closing one. A strake already cut gives nothing, unless it is the last, which is trimmed to the
    gap. Source: derived here.
    """
    narrower = plain.to_take_up_mm is None or plain.to_take_up_mm >= 0
    total = 0.0
    for strake in plain.left:
        if strake.state == "cut" and len(plain.left) > 1:
            continue
        width = strake.planned_mm[plain.station]
        lowest, highest = opening.limits.widths_mm(width)
        way = max(0.0, width - lowest if narrower else highest - width)
        closing = plain.closing is not None and strake.label == plain.closing.label
        share = opening.limits.closing_share if closing else opening.limits.step_share
        total += min(share * width, way)
    return total


def run_drift(opening: Opening, plain: PlainSum, run: str) -> tuple[DriftPoint, ...]:
    """Return a run's drift strake by strake, from its fixed line towards the gap.

    D_K = sum of (reading less zero less the width cut to); u^2 = sum u_m^2 + sum over epochs of (count x
    u_zero)^2. Source: GUM, JCGM 100:2008, 5.2. Strakes not read here stand as believed.
    """
    of_run = [one for one in plain.hung if opening.strake_by_label[one.strake].run == run]
    if run == "wale":
        of_run.reverse()
    points, total = [], 0.0
    for index, one in enumerate(of_run):
        total += one.deviation_mm
        doubt = _sum_doubt(opening, of_run[: index + 1])
        points.append(DriftPoint(one.strake, one.deviation_mm, total, doubt, one.read_here))
    return tuple(points)


def _sum_doubt(opening: Opening, hung: list[HungWidth]) -> float:
    shared = [number * zero_of(opening, epoch)[1] for epoch, number in zero_counts(hung).items()]
    return correlated_doubt((one.u_mm for one in hung), shared)


def _station_review(
    opening: Opening, plain: PlainSum, judged: Judged, would_do: tuple[CountThatWouldDo, ...]
) -> StationReview:
    take_up, capacity = plain.to_take_up_mm, capacity_mm(opening, plain)
    closing = plain.closing
    planned = None if closing is None else closing.planned_mm[plain.station]
    alone = None if planned is None or take_up is None else planned - take_up
    even = _even(plain)
    said = sum_in_words.SaidOf(
        plain,
        judged.verdict,
        judged.reason,
        judged.about_at_limit,
        even,
        step_limit_mm(opening, plain),
        capacity,
        _doubt_after(opening, plain),
        would_do,
    )
    return StationReview(
        station=plain.station,
        verdict=judged.verdict,
        reason=judged.reason,
        about_at_limit=judged.about_at_limit,
        sentence=sum_in_words.station_sentence(said),
        sum=sum_in_words.sum_lines(said),
        wale_drift=run_drift(opening, plain, "wale"),
        keel_drift=run_drift(opening, plain, "keel"),
        left=tuple(one.label for one in plain.left),
        planned_gap_mm=plain.planned_gap_mm,
        gap_read_mm=plain.gap_read_mm,
        hung_since=plain.hung_since,
        gap_mm=plain.gap_mm,
        gap_from_widths_mm=plain.gap_from_widths_mm,
        short_mm=plain.short_mm,
        parts=sum_in_words.shortage_parts(plain),
        cause_known=plain.split is not None,
        doubt_mm=plain.doubt_mm,
        doubt_after_reading_mm=_doubt_after(opening, plain),
        seams_to_go=plain.seams_to_go,
        seam_mm=plain.seam_mm,
        seam_is_own=plain.seam_is_own,
        room_mm=plain.room_mm,
        closing=None if closing is None else closing.label,
        closing_planned_mm=planned,
        left_alone_mm=alone,
        step_mm=None if alone is None or planned is None else alone - planned,
        step_limit_mm=None if closing is None else step_limit_mm(opening, plain),
        to_take_up_mm=take_up,
        capacity_mm=capacity,
        share_of_eye=abs(take_up) / capacity if take_up is not None and capacity > 0 else None,
        even=even,
    )


def _even(plain: PlainSum) -> tuple[NewWidth, ...]:
    free = [one for one in plain.left if one.state != "cut"]
    if plain.to_take_up_mm is None or not free:
        return ()
    each = plain.to_take_up_mm / len(free)
    widths = [(one.label, one.planned_mm[plain.station]) for one in free]
    return tuple(NewWidth(label, width, width - each) for label, width in widths)


def _doubt_after(opening: Opening, plain: PlainSum) -> float:
    """Return the doubt one gap reading taken now would leave: the reading's own and the seams still to go."""
    seams = plain.seams_to_go
    scatter = opening.seam_scatter_mm * seams**0.5
    return min(plain.doubt_mm, correlated_doubt([GAP_READING_U_MM, scatter], [seams * opening.u_seam_mm]))


def _is_closed(opening: Opening) -> bool:
    return all(one.is_hung for one in opening.strakes)


def _opening_verdict(stations: tuple[StationReview, ...]) -> tuple[Verdict, str]:
    """Return the opening's verdict: *change the plan* needs two neighbours, or the one station there is."""
    asked = [one for one in stations if one.left]
    if not asked:
        return "carry_on", "closed"
    pairs = any(a.verdict == b.verdict == "change_plan" for a, b in pairwise(asked))
    if pairs or (len(asked) == 1 and asked[0].verdict == "change_plan"):
        return "change_plan", "shows_when_spread"
    if any(one.verdict in ("spread_it", "change_plan") for one in asked):
        return "spread_it", "shows_left_alone"
    waiting = [one for one in asked if one.verdict == "measure_gap"]
    if waiting:
        reasons = [one.reason for one in waiting]
        return "measure_gap", max(set(reasons), key=reasons.count)
    return "carry_on", asked[0].reason


def _worst(stations: tuple[StationReview, ...], verdict: Verdict) -> str | None:
    known = [one for one in stations if one.to_take_up_mm is not None and one.left]
    of_verdict = [one for one in known if one.verdict == verdict] or known
    if not of_verdict:
        return None
    return max(of_verdict, key=lambda one: abs(one.to_take_up_mm or 0.0)).station


def _dead_flat(opening: Opening, worst: str | None) -> str | None:
    """Return dead flat, or where none is named the widest station, if it is another than the worst."""
    names = [one.name for one in opening.stations]
    flat = opening.dead_flat or next(
        (name for name in names if name.casefold() in sum_in_words.DEAD_FLAT), None
    )
    flat = flat or max(names, key=lambda name: sum(_planned(one, name) for one in opening.strakes))
    return flat if worst is not None and flat != worst else None


def _planned(strake: Strake, station: str) -> float:
    return strake.planned_mm.get(station, 0.0)


def _new_widths_offered(sums: list[PlainSum]) -> tuple[bool, str]:
    most = max(len(one.left) for one in sums)
    for one in sums:
        left, take_up = len(one.left), one.to_take_up_mm
        if left and take_up is not None:
            why = why_offered(most, take_up / left, one.planned_widths_mm / left, one.doubt_mm / left)
            if why:
                return True, why
    return False, ""


def _news(stations: tuple[StationReview, ...]) -> tuple[WidthNews, ...]:
    return tuple(
        WidthNews(width.strake, one.station, width.planned_mm, width.even_mm)
        for one in stations
        for width in one.even
        if abs(width.even_mm - width.planned_mm) > NEWS_MM
    )
