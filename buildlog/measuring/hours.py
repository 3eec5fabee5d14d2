"""Hours so far -> hours to finish, as an interval, and the months between which that falls."""

from dataclasses import dataclass
from datetime import date, timedelta

from buildlog.models import PlanStrake
from planking.pace import Pace, StrakeToCome, pace

# A closing strake is made to the gap and a drop strake is fitted at its end: so much more than a plain one takes.
HARD = 1.4
# Later than this no month is told: a pace of that kind says nothing.
MOST_WEEKS = 520


@dataclass(frozen=True)
class ToCome:
    """What is left on one side: how many strakes, the hours they will take in 8 of 10 cases, and the middle."""

    opening: object
    left: int
    pace: Pace


@dataclass(frozen=True)
class Finish:
    """Between which days all sides are closed, going on as before; the later one has the weeks off in it."""

    earliest: date
    latest: date


def to_come_of(opening, strakes, minutes) -> ToCome:
    """Return what an opening's strakes left will take, by the minutes of those that hang, in the order they hung."""
    left = [s for s in strakes if not s.is_hung]
    hours = [one.minutes / 60 for one in minutes if one.opening_id == opening.pk]
    hard = {s.plan.strake_id: _difficulty(s) for s in strakes}
    weights = [hard.get(one.strake_id, 1.0) for one in minutes if one.opening_id == opening.pk]
    told = pace(hours, [StrakeToCome(difficulty=hard[s.plan.strake_id]) for s in left], difficulties=weights)
    return ToCome(opening, len(left), told)


def _difficulty(strake) -> float:
    is_hard = strake.plan.run == PlanStrake.Run.CLOSING or strake.plan.kind == PlanStrake.Kind.DROP
    return HARD if is_hard else 1.0


def finish_of(to_come, sessions, start: date) -> Finish | None:
    """Return between which days it closes; None where nothing is left, or too little was logged to tell.

    The earlier end is the least hours at the pace of weeks with work in them, the later the most at the pace of all
    weeks from the first session to the last.
    """
    if not sessions or any(one.pace.too_early for one in to_come) or not any(one.left for one in to_come):
        return None
    hours = sum(one.minutes for one in sessions) / 60
    weeks = (sessions[-1].local_date - sessions[0].local_date).days / 7 + 1
    busy = len({one.local_date.isocalendar()[:2] for one in sessions})
    least, most = (sum(getattr(one.pace, end) for one in to_come) for end in ("low_hours", "high_hours"))
    latest = most / (hours / weeks)
    if latest > MOST_WEEKS:
        return None
    return Finish(start + timedelta(weeks=least / (hours / busy)), start + timedelta(weeks=latest))
