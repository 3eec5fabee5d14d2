"""The gap left -> new widths for the strakes not yet cut: the shortage shared so that no eye sees it.

The room comes from the whole ledger. The widths add up to it exactly at every station, keep their limits,
and leave the strakes already cut and those the builder locks alone. Each is told twice: the width wanted,
and the width to set at the saw, which is the wanted one less the builder's shrunk habit. The closing strake
is made to the gap: its habit is not taken off.
"""

from collections.abc import Collection
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from planking import estimate, fair
from planking.counts import counts_that_would_do
from planking.errors import PlankingError
from planking.offered import GUARD, NEWS_MM, why_offered
from planking.opening import Opening, Strake
from planking.plain_sum import closing_of, plain_sum
from planking.reviewed import CountThatWouldDo
from planking.steps import front_departures, is_rough, step_terms

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

Mode = Literal["fair", "even", "by_width", "hidden_first"]
MODES = ("fair", "even", "by_width", "hidden_first")

CLOSING_SHARE = 0.25
"""The closing strake takes a quarter of a share of what is short, for whatever is still to come falls on it alone."""

HIDDEN_WEIGHT = 1 / 9
"""A strake out of sight takes on up to nine times the change of one in sight: three times the step,
squared."""


@dataclass(frozen=True)
class CutTo:
    """One strake at one station: planned before, wanted now, the habit taken off, and what to set at the
    saw."""

    strake: str
    station: str
    planned_mm: float
    wanted_mm: float
    habit_mm: float
    cut_to_mm: float

    @property
    def is_news(self) -> bool:
        """Return whether the change is worth a word (over 0.02 mm)."""
        return abs(self.wanted_mm - self.planned_mm) > NEWS_MM


@dataclass(frozen=True)
class Misfit:
    """A station where no widths inside the limits fill the gap: by how much, and how sure that is."""

    station: str
    short_mm: float
    sureness: Literal["certainly", "probably", "perhaps"]


@dataclass(frozen=True)
class Recut:
    """New widths for what is left. `offered` says whether the shortage is worth a recut at all."""

    offered: bool
    reason: str
    widths: tuple[CutTo, ...]
    largest_change_mm: float
    largest_change_at: str | None
    short_a_strake_mm: float
    misfits: tuple[Misfit, ...]
    counts_that_would_do: tuple[CountThatWouldDo, ...]

    @property
    def can_be_done(self) -> bool:
        """Return whether the new widths fill the gap inside the limits at every station."""
        return not self.misfits

    def of(self, strake: str) -> dict[str, CutTo]:
        """Return the widths of one strake by station."""
        return {one.station: one for one in self.widths if one.strake == strake}


@dataclass(frozen=True)
class Left:
    """The strakes to be cut as a table: S stations by r strakes, keel side first. Absent ones are held at
    nought."""

    strakes: tuple[Strake, ...]
    planned: "Array"
    present: "Array"
    lowest: "Array"
    highest: "Array"
    room: "Array"
    u_room: "Array"


def recut(
    opening: Opening,
    mode: Mode = "fair",
    *,
    locked: Collection[str] = (),
    hidden: Collection[str] | None = None,
    solved: estimate.Ledger | None = None,
) -> Recut:
    """Return new widths for the strakes not yet cut.

    `even` changes all alike; `by_width` in proportion to their planned widths; `hidden_first` lets strakes
    out of sight (by default those of the run from the keel) take on more; `fair` minimises, with p the
    widths in proportion and steps taken against the plan's own (weights 1 and 0.5, and
    0.1 for a step to a hung strake; the third only where the readings are rough along the hull),

        sum q (w - p)^2 + 0.5 sum q (step - planned step)^2 + 0.02 sum q (bend of the seams)^2

    where the closing strake's p takes a quarter of the others' share in what is short. `planking.offered`
    says whether a recut is offered. Where limits forbid it the widths stand at their limits, `misfits` says
    where, and `counts_that_would_do` which number of strakes would. Lengths in mm. Raises PlankingError where
    nothing is left to cut.

    >>> from planking.opening import GapReading, Station
    >>> strakes = tuple(Strake(label, "closing" if label == "2" else "wale", {"D": 5.0}) for label in "123")
    >>> gaps = (GapReading("D", 14.72, frozenset(), 0.01),)
    >>> one = Opening("port", (Station("D"),), strakes, gaps=gaps, u_seam_mm=0.001)
    >>> [round(width.wanted_mm, 2) for width in recut(one, "even").widths]
    [4.87, 4.87, 4.87]
    """
    if mode not in MODES:
        raise PlankingError("mode", f"The way to share it is one of {', '.join(MODES)}.")
    solved = solved or estimate.ledger(opening)
    left = left_to_cut(opening, solved, locked)
    wanted = _wanted(opening, solved, left, mode, hidden)
    short = (left.planned * left.present).sum(axis=1) - left.room
    offered, reason, each = _offered(left, short)
    misfits = _misfits(opening, left)
    widths = _told(opening, solved, left, wanted)
    largest = max(widths, key=lambda one: abs(one.wanted_mm - one.planned_mm), default=None)
    return Recut(
        offered=offered,
        reason=reason,
        widths=widths,
        largest_change_mm=0.0 if largest is None else abs(largest.wanted_mm - largest.planned_mm),
        largest_change_at=None if largest is None else largest.station,
        short_a_strake_mm=each,
        misfits=misfits,
        counts_that_would_do=_counts(opening) if misfits else (),
    )


def is_offered(opening: Opening, solved: estimate.Ledger) -> tuple[bool, str]:
    """Return whether new widths are worth making now, and why: "over_one_per_cent", "last_three", or nothing."""
    left = left_to_cut(opening, solved)
    offered, reason, _ = _offered(left, (left.planned * left.present).sum(axis=1) - left.room)
    return offered, reason


def card_widths(opening: Opening, label: str, *, solved: estimate.Ledger | None = None) -> tuple[CutTo, ...]:
    """Return what a strake's card says at each station: the width in force, the habit taken off, and the
    width to set.

    >>> from planking.opening import Station
    >>> strakes = tuple(Strake(label, "wale", {"D": 5.0}) for label in "123")
    >>> card_widths(Opening("port", (Station("D"),), strakes), "3")[0].cut_to_mm
    5.0
    """
    strake = opening.strake_by_label.get(label)
    if strake is None or strake.state != "open":
        raise PlankingError("strake", f"Strake {label} is not one that is still to be cut.")
    solved = solved or estimate.ledger(opening)
    left = tuple(one for one in reversed(opening.strakes) if one.state == "open")
    closing = closing_of(opening, left)
    habit = estimate.habit_here(solved, strake.run).mean
    told = []
    for at, station in enumerate(opening.stations):
        if station.name in strake.planned_mm:
            off = 0.0 if closing is not None and closing.label == label else float(habit[at])
            width = strake.planned_mm[station.name]
            told.append(CutTo(label, station.name, width, width, off, width - off))
    return tuple(told)


def left_to_cut(opening: Opening, solved: estimate.Ledger, locked: Collection[str] = ()) -> Left:
    """Return the strakes not yet cut with their limits, and the room for them; a locked one keeps its
    width."""
    import numpy as np

    strakes = tuple(one for one in opening.strakes if one.state == "open" and one.planned_mm)
    if not strakes:
        raise PlankingError("strakes", "Nothing is left to cut.")
    names = [one.name for one in opening.stations]
    planned = np.array([[one.planned_mm.get(name, 0.0) for one in strakes] for name in names])
    present = np.array([[float(name in one.planned_mm) for one in strakes] for name in names])
    bounds = np.array([[opening.limits.widths_mm(width) for width in row] for row in planned])
    held = np.array([one.label in locked for one in strakes])
    lowest = np.where(held, planned, bounds[:, :, 0])
    highest = np.where(held, planned, np.maximum(bounds[:, :, 1], bounds[:, :, 0]))
    room = estimate.room(solved)
    return Left(strakes, planned, present, lowest, highest, room.mean, room.u)


def _wanted(
    opening: Opening, solved: estimate.Ledger, left: Left, mode: Mode, hidden: Collection[str] | None
) -> "Array":
    import numpy as np

    here = left.present.sum(axis=1) > 0
    total = np.clip(left.room, left.lowest.sum(axis=1), left.highest.sum(axis=1))
    planned = left.planned.sum(axis=1)
    share = np.divide(left.room, planned, out=np.ones_like(planned), where=planned > 0)
    if mode in ("even", "by_width"):
        start = left.planned if mode == "even" else left.planned * share[:, None]
        low, high = (
            np.where(left.present > 0, left.lowest, 0.0),
            np.where(left.present > 0, left.highest, 0.0),
        )
        filled = fair.water_filled(start, low, high, total)
        return np.where(here[:, None], filled, 0.0)
    # Out of sight first: the change itself is weighed, not the departure from an equal share of it.
    target = left.planned if mode == "hidden_first" else _sparing_the_closing_strake(opening, left)
    return _fair(opening, solved, left, target, total, mode, hidden)


def _sparing_the_closing_strake(opening: Opening, left: Left) -> "Array":
    """Return the planned widths, what is short shared in proportion to them, sparing the closing one."""
    import numpy as np

    closing = closing_of(opening, left.strakes[::-1])
    weights = [CLOSING_SHARE if one is closing else 1.0 for one in left.strakes]
    # A locked strake takes no share.
    parts = left.planned * np.array(weights) * (left.highest > left.lowest)
    whole, short = parts.sum(axis=1), left.room - left.planned.sum(axis=1)
    each = np.divide(short, whole, out=np.zeros_like(whole), where=whole > 0)
    return np.asarray(left.planned + parts * each[:, None])


def _fair(
    opening: Opening,
    solved: estimate.Ledger,
    left: Left,
    target: "Array",
    total: "Array",
    mode: Mode,
    hidden: Collection[str] | None,
) -> "Array":
    import numpy as np
    from scipy.sparse import csc_matrix

    cells = np.argwhere(left.present > 0)
    number = {(int(s), int(i)): index for index, (s, i) in enumerate(cells)}
    alpha = np.ones(len(left.strakes))
    if mode == "hidden_first":
        names = {one.label for one in left.strakes if one.run == "keel"} if hidden is None else set(hidden)
        alpha = np.array([HIDDEN_WEIGHT if one.label in names else 1.0 for one in left.strakes])
    fronts = front_departures(opening, solved, left.strakes)
    rough = is_rough(opening, solved)
    hessian, gradient = step_terms(opening, left.planned, target, alpha, fronts, number, rough=rough)
    rows = cells[:, 0]
    stations = np.unique(rows)
    place = {int(station): index for index, station in enumerate(stations)}
    sums = csc_matrix(
        (np.ones(len(cells)), ([place[int(s)] for s in rows], np.arange(len(cells)))),
        shape=(len(stations), len(cells)),
    )
    at = (cells[:, 0], cells[:, 1])
    problem = fair.Problem(hessian, gradient, sums, total[stations], left.lowest[at], left.highest[at])
    wanted = np.zeros_like(left.planned)
    wanted[at] = fair.solve(problem).x
    return wanted


def _offered(left: Left, short: "Array") -> tuple[bool, str, float]:
    import numpy as np

    number = left.present.sum(axis=1)
    here = number > 0
    if not here.any():
        return False, "", 0.0
    each, doubt = short[here] / number[here], left.u_room[here] / number[here]
    mean = left.planned.sum(axis=1)[here] / number[here]
    # A station where every strake is planned as nought has no share to compare.
    share = np.divide(np.abs(each), mean, out=np.zeros_like(mean), where=mean > 0)
    worst = float(each[int(np.argmax(share))])
    most = int(number.max())
    figures = zip(each.tolist(), mean.tolist(), doubt.tolist(), strict=True)
    reason = next(filter(None, (why_offered(most, *one) for one in figures)), "")
    return bool(reason), reason, worst


def _misfits(opening: Opening, left: Left) -> tuple[Misfit, ...]:
    found = []
    for at, station in enumerate(opening.stations):
        if not left.present[at].any():
            continue
        least = float((left.lowest[at] * left.present[at]).sum())
        most = float((left.highest[at] * left.present[at]).sum())
        room, band = float(left.room[at]), GUARD * float(left.u_room[at])
        by = least - room if room < least else most - room if room > most else 0.0
        reach = max(least - (room - band), (room + band) - most)
        if by:
            found.append(Misfit(station.name, by, "certainly" if abs(by) > band else "probably"))
        elif reach > 0:
            # It fits by the best estimate; only the doubt reaches past a limit, so it is not told as a
            # misfit.
            continue
    return tuple(found)


def _counts(opening: Opening) -> tuple[CountThatWouldDo, ...]:
    return counts_that_would_do(opening, [plain_sum(opening, one.name) for one in opening.stations])


def _told(opening: Opening, solved: estimate.Ledger, left: Left, wanted: "Array") -> tuple[CutTo, ...]:
    closing = closing_of(opening, tuple(reversed(left.strakes)))
    habits = {run: estimate.habit_here(solved, run).mean for run in {one.run for one in left.strakes}}
    told = []
    for column in range(len(left.strakes) - 1, -1, -1):
        strake = left.strakes[column]
        made_to_gap = closing is not None and strake.label == closing.label
        for at, station in enumerate(opening.stations):
            if left.present[at, column]:
                habit = 0.0 if made_to_gap else float(habits[strake.run][at])
                width = float(wanted[at, column])
                told.append(
                    CutTo(
                        strake.label,
                        station.name,
                        strake.planned_mm[station.name],
                        width,
                        habit,
                        width - habit,
                    )
                )
    return tuple(told)
