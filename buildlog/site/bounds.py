"""Bounds on what may come in: a body's size before it is read, and characters no record can hold."""

import re

from django.conf import settings

from . import log
from .errors import answer

# What neither a page nor a feed may hold: control signs but tab and line breaks, and the two that are no sign at all.
_NO_TEXT = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")


def plain_text(text: str) -> str:
    """Return a text without the signs that nobody types and no feed can carry."""
    return _NO_TEXT.sub("", text)


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
    """Refuse the character NUL, which PostgreSQL cannot store and no keyboard types, and drop other control signs from
    what is typed: a paste brings them along unseen.
    """

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
        if request.method != "POST" or not _is_form(request):
            return None
        if _has_nul(request.POST):
            return answer(request, 400)
        if any(map(_NO_TEXT.search, _texts(request.POST))):
            request.POST = _in_plain_text(request.POST)
        return None


def _has_nul(fields) -> bool:
    return any("\0" in name or any("\0" in value for value in values) for name, values in fields.lists())


def _texts(fields):
    # A password is only compared, never shown: it stays as it was typed.
    return (value for name, values in fields.lists() if "password" not in name for value in values)


def _in_plain_text(fields):
    plain = fields.copy()
    for name, values in fields.lists():
        if "password" not in name:
            plain.setlist(name, [plain_text(value) for value in values])
    plain._mutable = False
    return plain


def _is_form(request) -> bool:
    return request.content_type in ("application/x-www-form-urlencoded", "multipart/form-data")
