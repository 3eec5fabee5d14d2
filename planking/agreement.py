"""Do the readings agree? Widths against gaps, seams too thin to be true, and one figure that stands out.

For the gap left to fill, the gap reading is the one to trust; but a disagreement is told, never averaged
away.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from planking import estimate, words
from planking.hung_widths import hung_widths
from planking.ledger_rows import U_UNKNOWN_MM
from planking.note_sums import Stood, apart_sum, left_over_sum, mean_rule, scatter_sum, slip_sum
from planking.opening import Opening, Strake
from planking.plain_sum import PlainSum, correlated_doubt
from planking.reviewed import Note, SumLine

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

SURE = 2.576
"""Two-sided 99 % of the normal distribution."""

SLIP_ALONG = 3.5
WANDER_MM = 0.6 * 0.042
"""How far a cutting error bends between neighbouring stations (by simulation)."""

WIDE_SCATTER_MM = 0.09
GIRTH_RULE = "The planned girth is let go where the gaps of more than half of the stations stand off it on one side."

Place = tuple[float, str, float, float]
"""Where along the hull in mm, the station, how far off the plan in mm, and the doubt of that."""


@dataclass(frozen=True)
class Apart:
    """A gap reading against all other readings: positive where the gap is larger than they say."""

    station: str
    apart_mm: float
    u_mm: float
    seams: int
    read_mm: float = 0.0


def notes(opening: Opening, solved: estimate.Ledger, sums: Sequence[PlainSum]) -> tuple[Note, ...]:
    """Return what is worth a word about readings that do not agree, the gravest first."""
    apart = _girth_let_go(solved) or _disagreement(*latest_gaps_apart(solved))
    found = [_too_good(opening, sums), apart, _scatter(solved)]
    slips = [_girth_slip(solved, name) for name in solved.girth_slips]
    slips += [_slip_note(*one) for one in dict.fromkeys(solved.slips)]
    told = {(note.strakes, note.stations) for note in slips}
    along = [note for note in slips_along(opening) if (note.strakes, note.stations) not in told]
    return tuple([note for note in found if note is not None] + slips + along)


def _girth_let_go(solved: estimate.Ledger) -> Note | None:
    """Return the words for gaps that together contradict a girth nobody read."""
    import numpy as np

    if not solved.girth_let_go:
        return None
    names = [one.name for one in solved.opening.stations]
    count, none = len(names), np.zeros((len(names), len(solved.rows.strakes)))
    shared = np.zeros((count, len(solved.shared)))
    found = solved.answer(estimate.Question(np.zeros(count), shared, 1.0, np.zeros(count), none, none))
    apart = {name: float(found.mean[at] - solved.rows.girth[at]) for at, name in enumerate(names)}
    worst = max(solved.girth_let_go, key=lambda name: abs(apart[name]))
    way = "less" if apart[worst] < 0 else "more"
    by = f"{words.mm(abs(apart[worst]))} {way} than planned at {words.station(worst)}"
    where = "Where no girth was read," if solved.opening.girth_at else "No girth was read, and"
    told = f"{where} the gaps together say it is {by}: the gaps count. Read the girths to know why."
    doubt = float(found.u[names.index(worst)])
    stood = [
        Stood(name, float(found.mean[at]), float(solved.rows.girth[at]), float(found.u[at]))
        for at, name in enumerate(names)
    ]
    lines = apart_sum(stood, "Girth by the gaps and widths, less the girth planned", GIRTH_RULE)
    return Note("disagreement", told, (), solved.girth_let_go, apart[worst], doubt, lines)


def latest_gaps_apart(solved: estimate.Ledger) -> "tuple[tuple[Apart, ...], Apart | None]":
    """Return how far the latest gap at each station stands from what all other readings foretell, and their
    mean.

    The latest gaps of all stations are left out together, for they were read in one go: else each would be
    foretold by its neighbours of the same day. apart = y - y^, u^2 = u(y^)^2 + u_gap^2; the mean with all
    covariances.
    """
    import numpy as np

    latest, read = _latest_rows(solved)
    if not read.any():
        return (), None
    without = list(solved.rows.taken)
    for at in np.nonzero(read)[0]:
        row = int(latest[at])
        u = without[row].u.copy()
        u[at] = U_UNKNOWN_MM
        without[row] = replace(without[row], u=u)
    rows = replace(solved.rows, taken=tuple(without))
    others = estimate.solve(solved.opening, rows, solved.habits, solved.scatter)
    told = estimate.foretold(others, latest)
    value = np.array([solved.rows.taken[row].value[at] for at, row in enumerate(latest)])
    u_gap = np.array([solved.rows.taken[row].u[at] for at, row in enumerate(latest)])
    seams = [int(solved.rows.taken[row].seams[at]) for at, row in enumerate(latest)]
    covariance = told.covariance + np.diag(u_gap**2)
    names = [one.name for one in solved.opening.stations]
    found = tuple(
        Apart(names[at], float(value[at] - told.mean[at]), math.sqrt(covariance[at, at]), seams[at], float(value[at]))
        for at in np.nonzero(read)[0]
    )
    share = read / read.sum()
    mean = float(share @ (value - told.mean))
    typical = round(sum(one.seams for one in found) / len(found))
    return found, Apart("", mean, math.sqrt(share @ covariance @ share), typical)


def _latest_rows(solved: estimate.Ledger) -> "tuple[NDArray[np.int64], NDArray[np.bool_]]":
    """Return the row of the latest gap at each station, and where there is one."""
    import numpy as np

    count = len(solved.opening.stations)
    latest, read = np.zeros(count, dtype=np.int64), np.zeros(count, dtype=bool)
    most = np.full(count, -1.0)
    for row, one in enumerate(solved.rows.taken):
        if one.sign < 0:
            over = one.strakes.sum(axis=1)
            newer = (one.u < U_UNKNOWN_MM / 10) & (over >= most)
            latest[newer], most[newer], read[newer] = row, over[newer], True
    return latest, read


def _disagreement(apart: tuple[Apart, ...], mean: Apart | None) -> Note | None:
    """Return the words for gaps and widths that disagree, with the likely causes in their order.

    Told where all stations together stand apart by more than 2.576 of their doubt, or one by more than 3.5
    of its.
    """
    if mean is None:
        return None
    together = len(apart) > 1 and abs(mean.apart_mm) > SURE * mean.u_mm
    beyond = [one for one in apart if abs(one.apart_mm) > SLIP_ALONG * one.u_mm]
    if not together and not beyond:
        return None
    worst = mean if together else max(beyond, key=lambda one: abs(one.apart_mm) / one.u_mm)
    way = "smaller" if worst.apart_mm < 0 else "larger"
    place = "over all stations together" if together else f"at {words.station(worst.station)}"
    by = f"{words.mm(abs(worst.apart_mm))} {way}"
    told = f"Widths and gap disagree {place}: the gap is {by} than all else says"
    if worst.seams:
        told += f", {abs(worst.apart_mm) / worst.seams:.3f} a seam"
    return Note(
        "disagreement",
        f"{told}. {_cause(worst, together)}",
        stations=tuple(one.station for one in (apart if together else beyond)),
        value_mm=worst.apart_mm,
        doubt_mm=worst.u_mm,
        sum=_apart_lines(apart, mean, together),
    )


def _apart_lines(apart: tuple[Apart, ...], mean: Apart, together: bool) -> tuple[SumLine, ...]:
    stood = [Stood(one.station, one.read_mm, one.read_mm - one.apart_mm, one.u_mm) for one in apart]
    alone = f"One station is told beyond {SLIP_ALONG:g} of its doubt."
    rule = mean_rule(mean.apart_mm, mean.u_mm, SURE) if together else alone
    return apart_sum(stood, "Gap read, less what all the other readings together foretell", rule)


def _cause(worst: Apart, together: bool) -> str:
    if not together:
        return "One station alone: read that gap again, then its widths."
    if worst.apart_mm < 0:
        return "Thicker seams, or an instrument that reads small; a block tells which."
    return "Edges dressed after they were read, or an instrument that reads large; a block tells which."


def _too_good(opening: Opening, sums: Sequence[PlainSum]) -> Note | None:
    """Return the words for seams that seem thinner than they can be, over all stations together.

    Left over = short less widths, girth and plan; expected = seams hung x seam. The zeros are left out of
    the doubt, for the zero is what is suspected.
    """
    known = [one for one in sums if one.split is not None and one.gap_read_mm is not None and one.seams_hung]
    if not known:
        return None
    lacking, loose, seams = 0.0, 0.0, 0.0
    for one in known:
        lacking += one.seams_hung * opening.seam_mm - _left_over(one)
        girth = opening.girth_at.get(one.station)
        gap = opening.gaps_at(one.station)[-1]
        parts = [gap.u_mm, girth.u_mm if girth else 0.25, *(width.u_mm for width in one.hung)]
        loose += correlated_doubt(parts, []) ** 2 + one.seams_hung * opening.seam_scatter_mm**2
        seams += one.seams_hung
    number = len(known)
    doubt = correlated_doubt([math.sqrt(loose) / number], [seams / number * opening.u_seam_mm])
    if lacking / number <= SURE * doubt:
        return None
    shown = max(known, key=lambda one: one.short_mm or 0.0)
    allowed = words.mm(shown.seams_hung * opening.seam_mm)
    told = f"Left over {words.mm(_left_over(shown))} over {shown.seams_hung} seams "
    told += f"at {words.station(shown.station)} is less than your test joints allow ({allowed}), "
    told += "and so over all stations together: check the instrument on a block."
    names = tuple(one.station for one in known)
    left = [(one.station, _left_over(one), one.seams_hung * opening.seam_mm) for one in known]
    lines = left_over_sum(left, lacking / number, doubt, SURE)
    return Note("too_good", told, (), names, lacking / number, doubt, lines)


def _left_over(one: PlainSum) -> float:
    split = one.split
    assert split is not None
    return split.seams_mm + split.left_over_mm + one.seams_hung * one.planned_seam_mm


def _scatter(solved: estimate.Ledger) -> Note | None:
    sd = solved.scatter.sd_mm
    if sd <= WIDE_SCATTER_MM or solved.scatter.freedom < 6:
        return None
    told = f"Your cuts scatter by {words.mm(sd)} about their aim: cut the last strakes proud, read, "
    found = solved.scatter
    lines = scatter_sum(found.cut_mm2, found.station_mm2, found.freedom, WIDE_SCATTER_MM)
    return Note("scatter", told + "and trim to the number.", value_mm=sd, sum=lines)


def _girth_slip(solved: estimate.Ledger, station: str) -> Note:
    planned = (solved.opening.girth_planned_mm or {})[station]
    read = solved.opening.girth_at[station].girth_mm
    way = "over" if read > planned else "under"
    told = f"Read the girth at {words.station(station)} again: {words.mm(read)} is {words.mm(abs(read - planned))} "
    told += f"{way} its plan, and the gap there agrees with the plan. It is kept, and the plan's counts till then."
    return Note("slip", told, (), (station,), read - planned)


def _slip_note(row: str, station: str) -> Note:
    what = "the gap" if row == "gap" else f"strake {row}"
    told = f"Read {what} at {words.station(station)} again: the figure stands far from all the others. "
    strakes = () if row == "gap" else (row,)
    return Note("slip", told + "It is kept, and counts little.", strakes, (station,))


def slips_along(opening: Opening) -> tuple[Note, ...]:
    """Return the width readings that stand out along their own strake, the largest first, one at a time.

    r = d_s - [(1-t) d_before + t d_after], u^2 = (1 + t^2 + (1-t)^2) u_m^2 + (0.6 x 0.042)^2; a slip is |r|
    > 3.5 u. A slip makes its neighbours stand out too, so only the largest is told, then it is left out and
    all are looked at again. Source: derived here.
    """
    read = {
        one.name: {width.strake: width for width in hung_widths(opening, one.name)[0] if width.read_here}
        for one in opening.stations
    }
    found: list[Note] = []
    for strake in opening.hung_in_order:
        row = [
            (place, one.name, read[one.name][strake.label].deviation_mm, read[one.name][strake.label].u_mm)
            for one, place in zip(opening.stations, opening.places_mm, strict=True)
            if strake.label in read[one.name]
        ]
        found += _slips_of(strake, row)
    return tuple(sorted(found, key=lambda note: -abs(note.value_mm or 0.0)))


def _slips_of(strake: Strake, row: list[Place]) -> list[Note]:
    found = []
    while len(row) >= 3:
        scores = [_stands_out(*three) for three in zip(row, row[1:], row[2:], strict=False)]
        at = max(range(len(scores)), key=lambda index: abs(scores[index][1]))
        off, score = scores[at]
        if abs(score) <= SLIP_ALONG:
            break
        lines = _slip_lines(row[at], row[at + 1], row[at + 2], abs(off / score))
        _, station, _, _ = row.pop(at + 1)
        told = f"Strake {strake.label} at {words.station(station)} reads {words.mm(abs(off))} "
        told += f"{'more' if off > 0 else 'less'} than its neighbours along the hull: read it again."
        found.append(Note("slip", told, (strake.label,), (station,), off, abs(off / score), lines))
    return found


def _slip_lines(a: Place, b: Place, c: Place, u_mm: float) -> tuple[SumLine, ...]:
    share = (b[0] - a[0]) / (c[0] - a[0])
    return slip_sum((a[1], b[1], c[1]), (a[2], b[2], c[2]), share, u_mm, SLIP_ALONG)


def _stands_out(a: Place, b: Place, c: Place) -> tuple[float, float]:
    t = (b[0] - a[0]) / (c[0] - a[0])
    off = b[2] - (1 - t) * a[2] - t * c[2]
    u = math.sqrt(b[3] ** 2 + ((1 - t) * a[3]) ** 2 + (t * c[3]) ** 2 + WANDER_MM**2)
    return off, off / u
