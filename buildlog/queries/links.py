"""Share links as the owner sees them, and what one of them lets a stranger see."""

import hashlib
from dataclasses import dataclass, field

from django.db.models import Q

from buildlog.models import Photo, ShareLink

from .log import SessionStory, sessions_of, stories_of

MOST_SESSIONS = 60


def token_digest(token: str) -> str:
    """Return what the row keeps of a token."""
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


def link_that_opens(digest: str, now) -> ShareLink | None:
    """Return the link whose token has this digest, if it is neither paused, run out nor revoked."""
    return (
        ShareLink.objects.select_related("build")
        .filter(token_sha256=digest, paused_at=None, revoked_at=None)
        .filter(Q(expires_at=None) | Q(expires_at__gt=now))
        .first()
    )


def shared_photos(build):
    """Return the photographs that a club may see: shared, ready, in a shared session or in none."""
    return (
        Photo.objects.filter(build=build, shared=True, state=Photo.State.READY, taken_out_at=None)
        .filter(Q(session=None) | Q(session__shared=True))
        .select_related("session")
    )


@dataclass
class SharedStory:
    """One shared session with only what was shared of it."""

    date: object
    side: str
    note: str
    by: str
    uuid: object
    updated_at: object
    minutes: int | None = None
    photos: list = field(default_factory=list)
    tips: list = field(default_factory=list)
    mishaps: list = field(default_factory=list)
    hung: list = field(default_factory=list)

    @property
    def tells(self) -> bool:
        """Whether a reader finds more in it than its date."""
        return bool(self.note or self.photos or self.tips or self.mishaps or self.hung)


def shared_stories(build, most=MOST_SESSIONS) -> list[SharedStory]:
    """Return the shared sessions, newest first: a narrow copy, so that nothing private can reach a template."""
    sessions = list(sessions_of(build, shared_only=True)[:most])
    stories = [_narrowed(story) for story in stories_of(sessions)] if sessions else []
    return [story for story in stories if story.tells]


def _narrowed(story: SessionStory) -> SharedStory:
    session = story.session
    return SharedStory(
        date=session.local_date,
        side=session.side,
        note=session.note,
        by=session.by.shown_name if session.by else "",
        uuid=session.uuid,
        updated_at=session.closed_at or session.opened_at,
        minutes=session.minutes,
        photos=[p for p in story.photos if p.shared and p.state == Photo.State.READY],
        tips=[tip for tip in story.tips if tip.shared],
        mishaps=[mishap for mishap in story.mishaps if mishap.shared],
        hung=story.hung,
    )


def state_of(link: ShareLink, now) -> str:
    """Return open, paused, over or revoked."""
    if link.revoked_at is not None:
        return "revoked"
    if link.expires_at is not None and link.expires_at <= now:
        return "over"
    return "paused" if link.paused_at is not None else "open"
