"""Sessions: today's begins by itself with the first thing recorded, and closes itself."""

import zoneinfo

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from buildlog.models import Session

from .conflict import Conflict
from .events import tell_event


def local_date(build, moment):
    """Return the date of a moment on the builder's own wall calendar."""
    return moment.astimezone(zoneinfo.ZoneInfo(build.time_zone)).date()


def local_moment(build, moment) -> str:
    """Return a moment as the clock on the builder's wall shows it: 2026-02-14T09:41:07."""
    there = moment.astimezone(zoneinfo.ZoneInfo(build.time_zone))
    return there.replace(tzinfo=None, microsecond=0).isoformat()


def session_for(build, *, person, now, side="", happened_at=None):
    """Return the session that a thing recorded at this moment belongs to, beginning one where there is none.
    """
    happened_at = happened_at or now
    day = local_date(build, happened_at)
    session = build.sessions.filter(local_date=day, by=person).order_by("-opened_at").first()
    return session or start_session(
        build, person=person, now=now, side=side, happened_at=happened_at, local_date=day
    )


def start_session(build, *, person, now, local_date, happened_at=None, known_at=None, **fields):
    """Begin a session on a date, whatever else that date holds."""
    return Session.objects.create(
        build=build, by=person, local_date=local_date, opened_at=happened_at or now,
        known_at=min(known_at or now, now), received_at=now, **fields,
    )  # fmt: skip


def edit_session(session, version, *, person, now, **changes):
    """Change a session that still stands as ``version``; a newer one is a Conflict that carries it."""
    with transaction.atomic():
        before = {name: str(getattr(session, name)) for name in changes}
        seen = Session.objects.filter(pk=session.pk, version=version)
        if not seen.update(version=F("version") + 1, **changes):
            theirs = Session.objects.get(pk=session.pk)
            raise Conflict(_("Somebody changed this session while you wrote."), theirs=theirs)
        session.refresh_from_db()
        after = {name: str(getattr(session, name)) for name in changes}
        tell_event("edited", session, build=session.build, now=now, person=person, before=before, after=after)
    return session


def write_note(build, *, note, next_note, person, now, side="", happened_at=None):
    """Add words to the session of the day they were written on; the same words sent again are not written twice."""
    with transaction.atomic():
        session = session_for(build, person=person, now=now, side=side, happened_at=happened_at)
        return add_words(session, person=person, now=now, note=note, next_note=next_note)


def add_words(session, *, person, now, **words):
    """Add words below those of a session, by column; a block that stands there already is not written twice."""
    with transaction.atomic():
        session = Session.objects.select_for_update(no_key=True).get(pk=session.pk)
        changes = {name: _with(getattr(session, name), more) for name, more in words.items()}
        changed = {name: text for name, text in changes.items() if text != getattr(session, name)}
        if changed:
            edit_session(session, session.version, person=person, now=now, **changed)
    return session


def _with(text, more):
    """Return a text with a block below it. A browser breaks lines otherwise than a phone's waiting list does."""
    more = _plain_breaks(more).strip()
    if not more or f"\n\n{more}\n\n" in f"\n\n{_plain_breaks(text)}\n\n":
        return text
    return f"{text}\n\n{more}" if text else more


def _plain_breaks(text) -> str:
    return text.replace("\r\n", "\n").replace("\r", "\n")
