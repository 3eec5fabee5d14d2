"""The clock of a session: started by hand, stopped by hand, or ended afterwards where it was forgotten."""

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from buildlog.models import Session

from .conflict import Conflict, NotPossible
from .events import hold_build, tell_event
from .sessions import local_date, start_session

LONGEST_MINUTES = 24 * 60


def start_clock(build, *, person, now, happened_at=None, side=""):
    """Begin a session whose minutes are counted from now, or from when it was tapped on a phone without a signal.
    A clock of this person that runs goes on running.
    """
    began = happened_at or now
    with transaction.atomic():
        hold_build(build)
        running = build.sessions.filter(by=person, clocked=True, closed_at__isnull=True).first()
        if running:
            return running
        session = start_session(
            build, person=person, now=now, happened_at=began, local_date=local_date(build, began), side=side,
            clocked=True,
        )  # fmt: skip
        tell_event("clock started", session, build=build, now=now, person=person)
    return session


def stop_clock(session, *, person, now, ended_at=None):
    """Stop a clock now, or as of an earlier moment where it was forgotten; minutes written by hand stay."""
    ended_at = min(ended_at or now, now)
    if ended_at < session.opened_at:
        raise NotPossible(_("A session cannot end before it began."))
    minutes = min(LONGEST_MINUTES, max(1, round((ended_at - session.opened_at).total_seconds() / 60)))
    with transaction.atomic():
        running = Session.objects.filter(pk=session.pk, closed_at__isnull=True)
        if not running.update(closed_at=ended_at, version=F("version") + 1):
            raise Conflict(_("This clock was stopped already."), theirs=Session.objects.get(pk=session.pk))
        Session.objects.filter(pk=session.pk, minutes__isnull=True).update(minutes=minutes)
        session.refresh_from_db()
        tell_event("clock stopped", session, build=session.build, now=now, person=person,
                   after={"minutes": session.minutes, "closed_at": ended_at.isoformat()})  # fmt: skip
    return session
