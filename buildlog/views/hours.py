"""Hours: where they went, what a strake took, and what is still to come, never as one date."""

from django.shortcuts import render
from django.views.decorators.http import require_safe

from buildlog.access import build_to_read
from buildlog.actions.sessions import local_date
from buildlog.drawn.heads import standing_hull
from buildlog.drawn.progress import strakes_counted
from buildlog.measuring.hours import finish_of, to_come_of
from buildlog.queries.hours import hours_by_side, minutes_of_strakes, timed_sessions


@require_safe
def hours(request, build_uuid):
    visit = build_to_read(request, build_uuid)
    build, hull = visit.build, standing_hull(visit)
    sessions = timed_sessions(build)
    minutes = minutes_of_strakes(sessions)
    openings = hull.openings_here() if hull.revision else []
    to_come = [to_come_of(opening, strakes_counted(hull, opening), minutes) for opening in openings]
    start = _start(sessions, local_date(build, request.now))
    return render(request, "hours/detail.html", {
        "visit": visit, "build": build, "by_side": hours_by_side(sessions), "to_come": to_come,
        "total": sum(one.minutes for one in sessions), "strakes": _strakes(hull, openings, minutes),
        "finish": finish_of(to_come, sessions, start), "left": sum(one.left for one in to_come),
    })  # fmt: skip


def _start(sessions, today):
    """The work goes on from today, or from a session dated later: nothing is foretold for days that are over."""
    return max([today, *(one.local_date for one in sessions[-1:])])


def _strakes(hull, openings, minutes):
    """Return each opening with its strakes and their minutes, in the order they hung."""
    labels = {s.plan.strake_id: s.label for opening in openings for s in hull.strakes[opening.pk]}
    told = [
        (opening, [(labels[one.strake_id], one.minutes) for one in minutes
                   if one.opening_id == opening.pk and one.strake_id in labels])
        for opening in openings
    ]  # fmt: skip
    return [(opening, rows) for opening, rows in told if rows]


hours.room = "log"
