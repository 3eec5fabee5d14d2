"""Links that work once: the first owner's, a sign-in, a new password, an invitation to a build."""

import secrets
from datetime import datetime, timedelta

from django.db import transaction

from buildlog.models import Account, OneTimeLink
from buildlog.queries.one_time_links import token_digest

Purpose = OneTimeLink.Purpose
LIFETIMES = {
    Purpose.FIRST_OWNER: timedelta(days=2),
    Purpose.SIGN_IN: timedelta(hours=12),
    Purpose.RESET: timedelta(days=1),
    Purpose.INVITE: timedelta(days=14),
}


def make_one_time_link(
    purpose: str, *, now: datetime, account: Account | None = None, **fields
) -> tuple[OneTimeLink, str]:
    """Return the row and its token; the token is nowhere else and cannot be shown again."""
    token = secrets.token_urlsafe(32)
    link = OneTimeLink.objects.create(
        purpose=purpose,
        token_sha256=token_digest(token),
        account=account,
        made_at=now,
        expires_at=now + LIFETIMES[Purpose(purpose)],
        **fields,
    )
    return link, token


@transaction.atomic
def make_first_owner_link(*, now: datetime) -> tuple[OneTimeLink, str]:
    """Return the link that makes the first account; those of earlier starts stop working."""
    withdraw_one_time_links(OneTimeLink.objects.filter(purpose=Purpose.FIRST_OWNER), now=now)
    return make_one_time_link(Purpose.FIRST_OWNER, now=now)


def use_one_time_link(link: OneTimeLink, *, now: datetime) -> bool:
    """Mark a link as used; False when somebody was faster, or it has run out or been withdrawn since."""
    still_open = OneTimeLink.objects.filter(pk=link.pk, used_at=None, withdrawn_at=None, expires_at__gt=now)
    return still_open.update(used_at=now) == 1


def withdraw_one_time_links(links, *, now: datetime) -> int:
    """Stop every link of a query that is still open; return how many there were."""
    return links.filter(used_at=None, withdrawn_at=None).update(withdrawn_at=now)
