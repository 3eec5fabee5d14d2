"""The pages for what went wrong: one sentence, what to do next, and the id under which the log knows it."""

import json
import logging

from django.conf import settings
from django.core.exceptions import TooManyFilesSent
from django.http import HttpResponse
from django.template.loader import render_to_string
from django.utils.translation import gettext as _

from . import log


def answer(request, status: int, sentence: str = "", **headers) -> HttpResponse:
    """Return the page for a status: JSON to whoever asks for JSON, a fragment to htmx, else a page.

    These pages use no account and no database, so that they stand when those are what went wrong.
    """
    title, usual = _words()[status]
    sentence = sentence or usual
    request_id = getattr(request, "id", "")
    if "application/json" in request.headers.get("Accept", ""):
        body = json.dumps({"status": status, "message": sentence, "request": request_id})
        return HttpResponse(body, status=status, content_type="application/json", headers=headers)
    context = {"status": status, "title": title, "sentence": sentence, "request_id": request_id}
    name = "_problem.html" if request.headers.get("HX-Request") else "problem.html"
    try:
        body = render_to_string(name, context)
    except Exception:
        log.note("problem page failed", logging.ERROR)
        body = f"{title}\n\n{sentence}\n\n{request_id}\n"
        return HttpResponse(body, status=status, content_type="text/plain; charset=utf-8", headers=headers)
    return HttpResponse(body, status=status, headers=headers)


def _words() -> dict[int, tuple[str, str]]:
    return {
        400: (_("This request could not be read"), _("Go back and send it again.")),
        403: (
            _("Not yours to change"),
            _("You may look at this build, and its owner decides who may write in it."),
        ),
        404: (_("No such page"), _("The address may be mistyped, or what it named is not open to you.")),
        405: (_("Not that way"), _("This address cannot be used in that way.")),
        409: (
            _("Changed by someone else"),
            _("Someone saved this while it was open here. Nothing was overwritten."),
        ),
        413: (_("Too large"), _("One photograph may have 40 MB. Choose a smaller one, or fewer at a time.")),
        429: (_("Wait a little"), _("There were too many tries. Wait some minutes and try again.")),
        500: (_("This page failed"), _("What was saved before is safe. Go back and try once more.")),
        503: (
            _("Not ready"),
            _("The log is starting or its records cannot be reached. Try again in a minute."),
        ),
        507: (
            _("The disk is nearly full"),
            _("Photographs wait until there is room. Readings and notes can still be saved."),
        ),
    }


def bad_request(request, exception=None):
    if isinstance(exception, TooManyFilesSent):
        most = settings.DATA_UPLOAD_MAX_NUMBER_FILES
        sentence = _("At most %(most)d files may come at once. None of these was kept: send fewer at a time.")
        return answer(request, 400, sentence % {"most": most})
    return answer(request, 400)


def forbidden(request, exception=None):
    log.note("denied", path=request.path[:300])
    return answer(request, 403)


def not_found(request, exception=None):
    return answer(request, 404)


def failed(request):
    return answer(request, 500)


def csrf_failure(request, reason=""):
    """Say what a person can do about it; the reason itself is for the log."""
    log.note("form refused", logging.WARNING, reason=reason)
    return answer(
        request,
        403,
        _("This form was open too long, or cookies are off. Go back, load the page again, then send it."),
    )


def too_many(request, seconds: int) -> HttpResponse:
    """Return the page that asks to wait, with how long."""
    minutes = max(1, -(-seconds // 60))
    sentence = _("There were too many tries. Try again in %(minutes)d min.") % {"minutes": minutes}
    return answer(request, 429, sentence, **{"Retry-After": str(max(1, seconds))})
