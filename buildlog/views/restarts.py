"""Where I left off: met by itself after a long break, and one link away at any time."""

from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from buildlog.access import build_to_read
from buildlog.actions.sessions import local_date
from buildlog.drawn.heads import standing_hull
from buildlog.queries.photos import newest_photo
from buildlog.queries.restarts import last_session, left_off, was_long_ago


@require_safe
def where_i_left_off(request, build_uuid):
    visit = build_to_read(request, build_uuid)
    session, hull = last_session(visit.build), standing_hull(visit)
    if session is None:
        return redirect("bench", visit.build.uuid)
    request.session[seen_key(visit.build)] = session.pk
    return render(request, "restarts/detail.html", _left(request, visit, session, hull))


@require_safe
def hand_over(request, build_uuid):
    """Five lines and a photograph for whoever has the hull next, to be printed and put in the box."""
    visit = build_to_read(request, build_uuid)
    session, hull = last_session(visit.build), standing_hull(visit)
    if session is None:
        return redirect("bench", visit.build.uuid)
    day, photo = local_date(visit.build, request.now), newest_photo(visit.build)
    context = _left(request, visit, session, hull) | {"day": day, "photo": photo}
    return render(request, "restarts/hand_over.html", context)


def _left(request, visit, session, hull) -> dict:
    reviews = [(opening, hull.review(opening)) for opening in hull.openings_here()] if hull.revision else []
    return {
        "visit": visit, "build": visit.build, "hull": hull, "left": left_off(hull, session, request.now),
        "gaps_due": [opening for opening, review in reviews if review and review.gap_checks_due],
        "reviews": [(opening, review) for opening, review in reviews if review],
    }  # fmt: skip


def meets_after_break(request, build) -> bool:
    """Whether a build opens with this page: after a long break, once until the next session.

    The sample's sessions lie in a year of its own, so it never does.
    """
    if build.is_sample:
        return False
    session = last_session(build)
    return was_long_ago(session, request.now) and request.session.get(seen_key(build)) != session.pk


def seen_key(build) -> str:
    return f"left-off-{build.pk}"


where_i_left_off.room = hand_over.room = "bench"
