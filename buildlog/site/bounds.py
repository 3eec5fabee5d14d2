"""Bounds on what may come in: a body's size before it is read, and characters no record can hold."""

from django.conf import settings

from . import log
from .errors import answer


class BodyBound:
    """Refuse a body that says it is larger than any form of ours, before a byte of it is read."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        declared = request.META.get("CONTENT_LENGTH") or "0"
        if not (declared.isascii() and declared.isdigit() and len(declared) < 19):
            return answer(request, 400)
        if int(declared) > settings.BODY_BYTES:
            log.note("upload refused", reason="too large", size=int(declared))
            return answer(request, 413)
        return self.get_response(request)


class OddRequests:
    """Refuse the character NUL, which PostgreSQL cannot store and no keyboard types."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        if (
            "\0" in request.path_info
            or _has_nul(request.GET)
            or any("\0" in v for v in request.COOKIES.values())
        ):
            return answer(request, 400)
        return self.get_response(request)

    def process_view(self, request, view, args, kwargs):
        """Look through a posted form once the CSRF check, further in, would have read it anyway."""
        if request.method == "POST" and _is_form(request) and _has_nul(request.POST):
            return answer(request, 400)
        return None


def _has_nul(fields) -> bool:
    return any("\0" in name or any("\0" in value for value in values) for name, values in fields.lists())


def _is_form(request) -> bool:
    return request.content_type in ("application/x-www-form-urlencoded", "multipart/form-data")
