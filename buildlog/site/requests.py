"""What every request carries: its id, its time, and one line in the log when it is answered."""

import logging
import secrets
import time

from django.core.handlers.wsgi import WSGIHandler, WSGIRequest

from . import log
from .clock import now

HEADER = "X-Request-Id"


class Request(WSGIRequest):
    """A request whose content type may be anything.

    Django looks the charset up before any of our code runs, and lets a NUL in it (`charset*=''%00`) through
    as an exception that no page answers.
    """

    def _set_content_type_params(self, meta):
        try:
            super()._set_content_type_params(meta)
        except ValueError:
            self.content_type, self.content_params = "", {}


class Handler(WSGIHandler):
    """Django's application with our request."""

    request_class = Request


class RequestNotes:
    """Set `request.id` and `request.now`; answer with the id; write one line a request.

    The line holds the path with its tokens masked, and never the query, a cookie or a body.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        request.id = secrets.token_hex(8)
        request.now = now()
        ticket = log.request_id.set(request.id)
        started = time.perf_counter()
        try:
            response = self.get_response(request)
            response[HEADER] = request.id
            _write_down(request, response, time.perf_counter() - started)
            return response
        finally:
            log.request_id.reset(ticket)


def _write_down(request, response, seconds: float) -> None:
    if response.status_code < 400 and request.path_info.startswith(("/static/", "/healthz")):
        return
    user = getattr(request, "_cached_user", None)
    log.note(
        "request",
        logging.WARNING if response.status_code >= 500 else logging.INFO,
        method=request.method[:10],
        path=request.path[:300],
        status=response.status_code,
        ms=round(seconds * 1000),
        client=request.client_address,
        account=getattr(user, "pk", None),
    )
