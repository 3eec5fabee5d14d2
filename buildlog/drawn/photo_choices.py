"""What photographs may be marked with: strakes, stations, sessions and series of a build, as choices of a form."""

from zoneinfo import ZoneInfo

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from buildlog.queries.log import days_with_several

from .heads import standing_hull

_RECENT_SESSIONS = 120
_LIKELY = 6


def strake_choices(visit) -> list[tuple[str, str]]:
    """Return the strakes of the plan in force, the last of each opening first, as a photo note has them."""
    hull = standing_hull(visit)
    return [
        (str(s.plan.strake.uuid), f"{opening.get_side_display()} {s.label}")
        for opening in hull.openings
        for s in reversed(hull.strakes.get(opening.pk, []))
    ]


def likely_strakes(visit, *, chosen=()) -> set[str]:
    """Return the strakes that a photograph of these evenings may show: those chosen, the next, the last ones hung."""
    hull = standing_hull(visit)
    steps = visit.build.openings.filter(strakes__planks__steps__state="hung")
    recent = steps.order_by("-strakes__planks__steps__happened_at").values_list("strakes__uuid", flat=True)
    likely = [str(uuid) for uuid in recent[: _LIKELY * 12]]
    following = [str(hull.next.strake.plan.strake.uuid)] if hull.next else []
    return set(list(dict.fromkeys([*map(str, chosen), *following, *likely]))[: _LIKELY + len(chosen)])


def station_choices(visit) -> list[tuple[str, str]]:
    return [(str(station.uuid), station.name) for station in standing_hull(visit).stations]


def session_choices(visit, *, standing=None, none=None) -> list[tuple[str, str]]:
    """Return sessions newest first; one that stands already is among them however old it is."""
    sessions = list(visit.build.sessions.select_related("by").order_by("-local_date", "-pk")[:_RECENT_SESSIONS])
    if standing and standing not in sessions:
        sessions.append(standing)
    several = days_with_several(visit.build, {session.local_date for session in sessions})
    choices = [(str(one.uuid), _session_words(one, visit.build, one.local_date in several)) for one in sessions]
    return [("", none or _("no session")), *choices]


def _session_words(session, build, shows_hour) -> str:
    words = date_format(session.local_date, "j F Y")
    if shows_hour:
        words += f", {session.opened_at.astimezone(ZoneInfo(build.time_zone)):%H:%M}"
    return f"{words}, {session.by.display_name}" if session.by else words


def series_choices(visit, *, none=None) -> list[tuple[str, str]]:
    rows = visit.build.photo_series.order_by("name")
    return [("", none or _("no series")), *((str(series.uuid), series.name) for series in rows)]
