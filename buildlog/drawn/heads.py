"""The head that every page of a build carries: name, scale, plan, what is next, the strip, the five rooms."""

from django.urls import NoReverseMatch, reverse
from django.utils.functional import SimpleLazyObject
from django.utils.translation import gettext as _

from .hulls import StandingHull
from .strips import DESK, PHONE, strip_of

ROOMS = ["bench", "hull", "plan", "log", "shed"]


def head_of(request):
    """Return the head of the build that ``buildlog.access`` let this request see; made when a page asks for
    it.
    """
    visit = getattr(request, "visit", None)
    return SimpleLazyObject(lambda: _head(request, visit)) if visit else None


def standing_hull(visit) -> StandingHull:
    """Return the hull of a visit, read once a request."""
    if "_hull" not in visit.__dict__:
        object.__setattr__(visit, "_hull", StandingHull(visit.build))
    return visit._hull


def _head(request, visit):
    build, hull = visit.build, standing_hull(visit)
    desk = strip_of(hull, DESK, "strip-desk")
    phone = strip_of(hull, PHONE, "strip-phone")
    return {
        "name": build.name,
        "scale_text": build.scale_text,
        "plan_text": _plan_text(hull, build),
        "next_text": f"{_(hull.next.side.capitalize())} {hull.next.label}" if hull.next else "",
        "next_side": hull.next.side if hull.next else "",
        "strip_svg_desk": desk.svg if desk else "",
        "strip_svg_phone": phone.svg if phone else "",
        "rooms": [_room(request, build, key) for key in ROOMS if not (build.photographs_only and key in PLANKING)],
    }


PLANKING = {"hull", "plan"}


def _plan_text(hull, build) -> str:
    if build.photographs_only:
        return ""
    if hull.revision is None:
        return _("no plan yet")
    return _("Revision %(number)d in force") % {"number": hull.revision.number}


def _room(request, build, key) -> dict:
    labels = {"bench": _("Bench"), "hull": _("Hull"), "plan": _("Plan"), "log": _("Log"), "shed": _("Shed")}
    try:
        url = reverse(key, args=[build.uuid])
    except NoReverseMatch:
        url = ""
    return {"key": key, "label": labels[key], "url": url, "current": _room_of(request) == key}


def _room_of(request) -> str:
    """The room a page belongs to: the view says it (``view.room``), else its own name when that is a room."""
    match = request.resolver_match
    if match is None:
        return ""
    return getattr(match.func, "room", match.url_name)
