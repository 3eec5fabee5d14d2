import hashlib
from datetime import datetime

from buildlog.models import OneTimeLink


def token_digest(token: str) -> str:
    """Return what the row keeps of a token: enough to know it again, not enough to make it."""
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


def one_time_link_that_opens(token: str, now: datetime, *purposes: str) -> OneTimeLink | None:
    """Return the link of a token while it works; a wrong, used, withdrawn or late one looks the same: None.
    """
    links = OneTimeLink.objects.select_related("account", "build").filter(
        token_sha256=token_digest(token), used_at=None, withdrawn_at=None, expires_at__gt=now
    )
    if purposes:
        links = links.filter(purpose__in=purposes)
    return links.first()
