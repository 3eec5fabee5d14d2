"""What base.html needs on every page."""

from django.conf import settings


def page(request):
    """Return the theme, who is signed in, and what stands on every page. No query but that of the account."""
    user = getattr(request, "user", None)
    signed_in = bool(user and user.is_authenticated)
    return {
        "signed_in": signed_in,
        "theme": user.theme if signed_in else "",
        "is_https": settings.IS_HTTPS,
        "site_url": settings.SITE_URL,
        "request_id": getattr(request, "id", ""),
        "now": getattr(request, "now", None),
        "build_head": _build_head(request),
    }


def _build_head(request):
    """Return the head of the build on show, imported late: settings name this file before apps load."""
    if not hasattr(request, "visit"):
        return None
    from buildlog.drawn.heads import head_of

    return head_of(request)
