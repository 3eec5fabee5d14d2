"""What was written down and still wants to be seen: worries, and the word left for next time."""

from buildlog.models import Session, Tip, Worry


def open_worries(build) -> list[Worry]:
    """Return the worries that nobody closed, oldest first."""
    rows = Worry.objects.filter(session__build=build, closed_at__isnull=True)
    return list(rows.select_related("person", "strake__opening", "session").order_by("written_at", "pk"))


def word_for_next_time(build, today) -> Session | None:
    """Return the last session before today if it left a word; an older word has had its next time."""
    last = build.sessions.filter(local_date__lt=today).select_related("by").first()
    return last if last is not None and last.next_note else None


def said_of(build, operation, as_of=None) -> Tip | None:
    """Return the newest tip of an operation, as it was known at ``as_of``."""
    tips = Tip.objects.filter(session__build=build, operation=operation).select_related("person")
    if as_of is not None:
        tips = tips.filter(written_at__lte=as_of)
    return tips.order_by("-written_at", "-pk").first()
