"""Share links: made, paused, opened again, renewed, revoked. Each takes effect with the next request."""

import base64
import hashlib
import hmac
import os
import secrets
from pathlib import Path

from django.conf import settings
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from buildlog.models import ShareLink
from buildlog.queries.links import token_digest

from .conflict import NotPossible
from .events import tell_event

KEY_NAME = "link_key"


def link_key() -> bytes:
    """Return the key that tokens are made from. It lies in the data folder, never in the database."""
    path = Path(settings.DATA_DIR) / KEY_NAME
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return _make_key(path)


def _make_key(path: Path) -> bytes:
    """Lay down a new key, whole or not at all; where two processes make one at once, the first one stands."""
    path.parent.mkdir(parents=True, exist_ok=True)
    draft = path.with_name(f"{KEY_NAME}.{secrets.token_hex(4)}.part")
    handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(secrets.token_bytes(32))
        file.flush()
        os.fsync(file.fileno())
    try:
        os.link(draft, path)
    except FileExistsError:
        pass
    finally:
        draft.unlink()
    return path.read_bytes()


def token_of(link: ShareLink) -> str:
    """Return a link's token, so that its card can be printed again: 43 characters, 256 bits."""
    said = f"{link.uuid} {link.generation}".encode()
    digest = hmac.new(link_key(), said, hashlib.sha256).digest()
    return base64.urlsafe_b64encode(digest).rstrip(b"=").decode()


def make_link(build, *, name, person, now, expires_at=None, shows=None) -> ShareLink:
    """Make a link; nobody can open anything with it that is not shared."""
    link = ShareLink(
        build=build, name=name, made_by=person, made_at=now, expires_at=expires_at, shows=shows or {}
    )
    link.token_sha256 = token_digest(token_of(link))
    with transaction.atomic():
        link.save()
        tell_event("made", link, build=build, now=now, person=person, after={"name": name})
    return link


def pause_link(link, *, person, now):
    return _move(link, "paused", person=person, now=now, paused_at=now)


def open_link(link, *, person, now):
    return _move(link, "opened", person=person, now=now, paused_at=None)


def revoke_link(link, *, person, now):
    """End a link for good."""
    return _move(link, "revoked", person=person, now=now, revoked_at=now)


def renew_link(link, *, person, now):
    """Give a link a new token; the old one dies at once."""
    for _try in range(3):
        link.generation += 1
        digest = token_digest(token_of(link))
        try:
            return _move(
                link, "renewed", person=person, now=now, generation=link.generation, token_sha256=digest
            )
        except IntegrityError:
            continue
    raise NotPossible(_("The link could not be renewed; try once more."))


def _move(link, verb, *, person, now, **changes):
    if link.revoked_at is not None:
        raise NotPossible(_("This link was revoked; make a new one."))
    with transaction.atomic():
        for field, value in changes.items():
            setattr(link, field, value)
        link.save(update_fields=list(changes))
        tell_event(verb, link, build=link.build, now=now, person=person, after={"name": link.name})
    return link
