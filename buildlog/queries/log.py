"""The log: sessions by date, each with its photographs, what was written, and what was recorded in it."""

from dataclasses import dataclass, field

from django.db.models import Count, Q
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from buildlog.models import Mishap, Photo, PlankStep, PlanStrake, Reading, Session, Tip, Worry

A_PAGE = 12


@dataclass
class SessionStory:
    """One session with everything of it, gathered so that a page of sessions costs one query a kind."""

    session: Session
    photos: list = field(default_factory=list)
    tips: list = field(default_factory=list)
    mishaps: list = field(default_factory=list)
    worries: list = field(default_factory=list)
    recorded: list = field(default_factory=list)
    hung: list = field(default_factory=list)
    # A day with several sessions tells them apart by the hour.
    shows_hour: bool = False

    @property
    def recorded_words(self) -> str:
        """What was recorded, in one line: 11 widths of 9, 11 gaps port."""
        return ", ".join(_recorded_words(row) for row in self.recorded)


def _recorded_words(row) -> str:
    words = {
        "width": ngettext("%(n)d width", "%(n)d widths", row["count"]),
        "gap": ngettext("%(n)d gap", "%(n)d gaps", row["count"]),
        "girth": ngettext("%(n)d girth", "%(n)d girths", row["count"]),
        "thickness": ngettext("%(n)d thickness", "%(n)d thicknesses", row["count"]),
    }
    said = words.get(row["kind"], ngettext("%(n)d reading", "%(n)d readings", row["count"])) % {"n": row["count"]}
    if row["label"]:
        return _("%(what)s of %(label)s") % {"what": said, "label": row["label"]}
    side = {"port": _("port"), "starboard": _("starboard")}.get(row["side"], "")
    return f"{said} {side}".strip()


def sessions_of(build, *, words="", shared_only=False):
    """Return the sessions of a build, newest first, those that hold ``words`` where any are asked for."""
    sessions = Session.objects.filter(build=build).select_related("by")
    if shared_only:
        sessions = sessions.filter(shared=True)
    for word in words.split()[:8]:
        sessions = sessions.filter(
            Q(note__icontains=word)
            | Q(next_note__icontains=word)
            | Q(tips__text__icontains=word)
            | Q(tips__operation__icontains=word)
            | Q(mishaps__text__icontains=word)
            | Q(worrys__text__icontains=word)
            | Q(photos__caption__icontains=word)
        )
    return sessions.distinct().order_by("-local_date", "-opened_at", "-pk")


def stories_of(sessions) -> list[SessionStory]:
    """Return a page of sessions, each with what belongs to it. Eight queries, however many sessions."""
    several = days_with_several(sessions[0].build, {one.local_date for one in sessions}) if sessions else set()
    stories = {one.pk: SessionStory(one, shows_hour=one.local_date in several) for one in sessions}
    photos = Photo.objects.filter(session__in=stories, taken_out_at__isnull=True)
    for photo in photos.prefetch_related("marks").order_by("taken_local", "pk"):
        stories[photo.session_id].photos.append(photo)
    for name, model in {"tips": Tip, "mishaps": Mishap, "worries": Worry}.items():
        for row in model.objects.filter(session__in=stories).select_related("person", "strake"):
            getattr(stories[row.session_id], name).append(row)
    labels = labels_of(sessions[0].build) if stories else {}
    _add_recorded(stories, labels)
    _add_hung(stories, labels)
    return list(stories.values())


def days_with_several(build, days) -> set:
    """Return those of the days on which more than one session began."""
    counted = Session.objects.filter(build=build, local_date__in=days).values("local_date").order_by("local_date")
    return set(counted.annotate(n=Count("pk")).filter(n__gt=1).values_list("local_date", flat=True))


def labels_of(build) -> dict[int, tuple[str, str]]:
    """Return ``(side, label)`` by strake pk, by the newest numbered revision that names the strake."""
    plans = PlanStrake.objects.filter(revision__build=build, revision__number__isnull=False)
    rows = plans.order_by("revision__number").values_list("strake_id", "opening__side", "label")
    return {pk: (side, label) for pk, side, label in rows}


def _add_recorded(stories, labels):
    rows = (
        Reading.objects.filter(session__in=stories, value_nm__isnull=False)
        .values("session_id", "kind", "strake_id", "opening__side")
        .annotate(count=Count("pk"))
        .order_by("kind", "strake_id")
    )
    for row in rows:
        side, label = labels.get(row["strake_id"], (row["opening__side"], ""))
        stories[row["session_id"]].recorded.append(
            {"kind": row["kind"], "side": side or "", "label": label, "count": row["count"]}
        )


def _add_hung(stories, labels):
    steps = PlankStep.objects.filter(session__in=stories, state="hung").select_related("plank")
    for step in steps.order_by("happened_at", "pk"):
        named = labels.get(step.plank.strake_id)
        if named and named not in stories[step.session_id].hung:
            stories[step.session_id].hung.append(named)
