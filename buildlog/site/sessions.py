"""Signed-in browsers: closed by default, 14 days idle, 90 days in all, ended everywhere at once."""

from datetime import UTC, datetime, timedelta
from importlib import import_module
from urllib.parse import urlsplit

from django.conf import settings
from django.contrib.auth import logout
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.contrib.auth.signals import user_logged_in, user_login_failed
from django.dispatch import receiver
from django.http import HttpResponse
from django.shortcuts import resolve_url
from django.utils.http import urlencode

from . import log
from .clock import now

SIGNED_IN_AT = "signed_in_at"
TOUCHED_AT = "touched_at"
# Saving the session with every page would make every page a writer; once a day keeps the 14 days to within
# one.
TOUCH_EVERY = timedelta(days=1)


class SessionLimits:
    """End a session 90 days after its sign-in; put the 14 idle days off once a day of use."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        if settings.SESSION_COOKIE_NAME in request.COOKIES and request.user.is_authenticated:
            self._hold(request)
        return self.get_response(request)

    def _hold(self, request) -> None:
        signed_in_at = _time(request.session.get(SIGNED_IN_AT))
        if signed_in_at is None:
            request.session[SIGNED_IN_AT] = signed_in_at = request.now.timestamp()
        if request.now.timestamp() - signed_in_at > settings.SESSION_ABSOLUTE_SECONDS:
            log.note("session ended", reason="90 days")
            logout(request)
        elif (
            request.now.timestamp() - (_time(request.session.get(TOUCHED_AT)) or 0)
            > TOUCH_EVERY.total_seconds()
        ):
            request.session[TOUCHED_AT] = request.now.timestamp()


def _time(value) -> float | None:
    return float(value) if isinstance(value, int | float) else None


class ClosedByDefault(LoginRequiredMiddleware):
    """Send a stranger to sign in: by redirect, for htmx by its own header, for JSON by a plain 401."""

    def handle_no_permission(self, request, view_func):
        if request.headers.get("HX-Request"):
            there = resolve_url(self.get_login_url(view_func))
            back = request.htmx.current_url_abs_path or "/"
            return HttpResponse(status=401, headers={"HX-Redirect": f"{there}?{urlencode({'next': back})}"})
        if "application/json" in request.headers.get("Accept", ""):
            return HttpResponse('{"status": 401}', status=401, content_type="application/json")
        if request.method not in ("GET", "HEAD"):
            return self._to_sign_in(request, view_func)
        return super().handle_no_permission(request, view_func)

    def _to_sign_in(self, request, view_func):
        """A post cannot be sent again by following a link, so the way back is the page that it was sent from."""
        there, page = resolve_url(self.get_login_url(view_func)), urlsplit(request.headers.get("Referer", ""))
        if page.netloc == request.get_host():
            there += "?" + urlencode({"next": page.path + (f"?{page.query}" if page.query else "")})
        return HttpResponse(status=303, headers={"Location": there})


def sign_out_everywhere(account, *, but_for: str = "") -> int:
    """End every session of an account (but for one session key); return how many were ended."""
    keys = [key for key in account.phones.values_list("session_key", flat=True) if key != but_for]
    store = import_module(settings.SESSION_ENGINE).SessionStore
    for key in keys:
        store(session_key=key).delete()
    account.phones.filter(session_key__in=keys).delete()
    log.note("signed out everywhere", account=account.pk, sessions=len(keys))
    return len(keys)


@receiver(user_logged_in)
def _signed_in(sender, request, user, **kwargs):
    moment = getattr(request, "now", None) or now()
    request.session[SIGNED_IN_AT] = request.session[TOUCHED_AT] = moment.timestamp()
    log.note("signed in", account=user.pk, client=getattr(request, "client_address", ""))


@receiver(user_login_failed)
def _sign_in_failed(sender, credentials, request=None, **kwargs):
    """The name that was typed is left out: people type passwords into the wrong field."""
    log.note("sign-in refused", client=getattr(request, "client_address", ""))


def signed_in_at(session) -> datetime | None:
    """Return when this session was signed in, or None for one that never was."""
    moment = _time(session.get(SIGNED_IN_AT))
    return datetime.fromtimestamp(moment, UTC) if moment is not None else None
