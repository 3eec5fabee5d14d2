"""Where the hours of a build went: by side, by kind of work, and by the strakes that hung in a session."""

from dataclasses import dataclass

from buildlog.models import PlankStep, Session


@dataclass(frozen=True)
class SideHours:
    """The minutes of one side's sessions; ``side`` is port, starboard or both."""

    side: str
    minutes: int
    sessions: int


@dataclass(frozen=True)
class StrakeMinutes:
    """One hung strake and the minutes that went into it."""

    strake_id: int
    opening_id: int
    minutes: float


def timed_sessions(build) -> list[Session]:
    """Return the sessions whose time was written down, oldest first."""
    return list(build.sessions.filter(minutes__gt=0).order_by("local_date", "opened_at", "pk"))


def hours_by_side(sessions) -> list[SideHours]:
    found = {}
    for one in sessions:
        side = one.side or "both"
        minutes, count = found.get(side, (0, 0))
        found[side] = (minutes + one.minutes, count + 1)
    return [SideHours(side, *found[side]) for side in ("port", "starboard", "both") if side in found]


def minutes_of_strakes(sessions) -> list[StrakeMinutes]:
    """Return the minutes of each strake that hung in a session, in the order they hung. One query.

    A session is shared evenly by the strakes that hung in it. One side's session in which none did belongs to the next
    strake of that side; one of both sides in which none did (girths, lining off) belongs to no strake.
    """
    hung = _hung_in(sessions)
    carried = {"port": 0.0, "starboard": 0.0}
    found = []
    for session in sessions:
        here = hung.get(session.pk, [])
        if not here:
            if session.side in carried:
                carried[session.side] += session.minutes
            continue
        for strake, opening, side in here:
            found.append(StrakeMinutes(strake, opening, session.minutes / len(here) + carried.get(side, 0.0)))
            carried[side] = 0.0
    return found


def _hung_in(sessions) -> dict[int, list]:
    """Return the strakes that hang, by the session in which their last plank was hung."""
    steps = PlankStep.objects.filter(session__in=sessions, plank__state="hung", state="hung")
    steps = steps.exclude(measured="before_log").order_by("happened_at", "pk")
    rows = steps.values_list("session", "plank__strake", "plank__strake__opening", "plank__strake__opening__side")
    last = {strake: (session, opening, side) for session, strake, opening, side in rows}
    found: dict[int, list] = {}
    for strake, (session, opening, side) in last.items():
        found.setdefault(session, []).append((strake, opening, side))
    return found
