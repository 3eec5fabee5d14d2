"""A session's clock: whether one runs for a person, and whether it was forgotten."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Max

from buildlog.models import Photo, PlankStep, Reading, Session

# So long after the last entry nobody is at the bench any more.
FORGOTTEN_AFTER = timedelta(hours=4)


@dataclass(frozen=True)
class Clock:
    """A clock that runs. ``last_entry`` is the last thing recorded since it was started, or its start."""

    session: Session
    last_entry: datetime
    is_forgotten: bool


def running_clock(build, person, now) -> Clock | None:
    """Return the clock that a person started and has not stopped, or None."""
    if person is None:
        return None
    running = build.sessions.filter(by=person, clocked=True, closed_at__isnull=True)
    session = running.order_by("-opened_at", "-pk").first()
    if session is None:
        return None
    last = last_entry_of(session)
    return Clock(session, last, now - last >= FORGOTTEN_AFTER)


def last_entry_of(session) -> datetime:
    """Return when something was last recorded in a session; its start where nothing was."""
    steps = PlankStep.objects.filter(session=session).aggregate(last=Max("happened_at"))
    readings = Reading.objects.filter(session=session).aggregate(last=Max("happened_at"))
    photos = Photo.objects.filter(session=session).aggregate(last=Max("received_at"))
    moments = [steps["last"], readings["last"], photos["last"]]
    return max(moment for moment in (*moments, session.opened_at) if moment is not None)
