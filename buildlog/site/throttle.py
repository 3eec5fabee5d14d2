"""Token buckets in the database: shared by every thread and process, and kept over a restart.

A bucket of 10 an hour starts full, loses one with each try, and fills up again evenly: one every six minutes.
Tries are taken *before* a password is hashed, because the hashing is what an attacker would use up.
"""

import hashlib
import hmac
import math
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.core import signing
from django.db import transaction
from django.http import HttpRequest, HttpResponse

from buildlog.models import Throttle, folded

from . import log
from .network import throttled_as

HOUR = 3600
DEVICE_SECONDS = 365 * 24 * HOUR
DEVICE_SALT = "buildlog.device"


@dataclass(frozen=True)
class Bucket:
    """So many tries for each span of seconds; the name keeps buckets of one person apart."""

    name: str
    size: int
    seconds: int = HOUR

    @property
    def per_second(self) -> float:
        return self.size / self.seconds


SIGN_IN_BY_ACCOUNT = Bucket("sign-in-account", 10)
SIGN_IN_BY_ADDRESS = Bucket("sign-in-address", 30)
SIGN_IN_BY_DEVICE = Bucket("sign-in-device", 10)
# Only what opens nothing is counted, so a club that reads one page all evening from one address is never
# refused.
WRONG_TOKENS = Bucket("wrong-token", 30)
QUESTIONS = Bucket("question", 10)


def take(bucket: Bucket, subject: str, now: datetime) -> int:
    """Take one try; return 0, or the seconds until there is one again (and then nothing was taken)."""
    return take_all([(bucket, subject)], now)


def take_all(wanted: list[tuple[Bucket, str]], now: datetime) -> int:
    """Take one try from every bucket or from none; return 0, or the seconds to wait for the emptiest.

    A bucket that is not empty keeps its tries when another is: whoever used up an address's tries does not
    use up an account's as well.
    """
    # In one order by key, so that two requests that want the same two rows cannot wait for each other.
    buckets = {_key(bucket, subject): bucket for bucket, subject in wanted}
    buckets = {key: buckets[key] for key in sorted(buckets)}
    fresh = [Throttle(key=key, tokens=bucket.size, at=now) for key, bucket in buckets.items()]
    with transaction.atomic():
        Throttle.objects.bulk_create(fresh, ignore_conflicts=True)
        rows = list(Throttle.objects.select_for_update().filter(key__in=buckets).order_by("key"))
        wait = max((_refill(row, buckets[row.key], now) for row in rows), default=0)
        for row in rows:
            row.tokens -= 0 if wait else 1
        # A refused try is written too: it moves a row on whose time lies ahead since the clock was set back.
        Throttle.objects.bulk_update(rows, ["tokens", "at"])
    return wait


def wait_for(bucket: Bucket, subject: str, now: datetime) -> int:
    """Return the seconds until there is a try, taking none."""
    row = Throttle.objects.filter(key=_key(bucket, subject)).first()
    if row is None:
        return 0
    if row.at > now:
        Throttle.objects.filter(pk=row.pk).update(at=now)
    return _refill(row, bucket, now)


def _refill(row: Throttle, bucket: Bucket, now: datetime) -> int:
    """Fill the row up to now in memory; return the seconds until it holds one try."""
    # A clock that was set back must not empty a bucket, nor lock it until the old time comes again.
    passed = max(0.0, (now - row.at).total_seconds())
    row.tokens = min(float(bucket.size), row.tokens + passed * bucket.per_second)
    row.at = now
    # A millionth of a try is what adding floats may lose; without it a full hour could leave 9.999999 of 10.
    missing = 1 - row.tokens - 1e-6
    return 0 if missing <= 0 else max(1, math.ceil(missing / bucket.per_second))


def _key(bucket: Bucket, subject: str) -> str:
    """Return the key of a row: keyed by our secret, so a stolen database names nobody."""
    text = f"{bucket.name}\n{subject}".encode("utf-8", "surrogatepass")
    return hmac.new(settings.SECRET_KEY.encode(), text, hashlib.sha256).hexdigest()


def forget_idle(now: datetime) -> int:
    """Drop the rows that have filled up again; they say nothing any more. Return how many there were."""
    return Throttle.objects.filter(at__lt=now - timedelta(days=1)).delete()[0]


# Signing in


def take_sign_in(request: HttpRequest, sign_in_name: str) -> int:
    """Take one try at a password; return 0, or the seconds to wait. Call it before authenticate().

    A browser that has signed in to this account before has tries of its own, so that nobody can lock a
    builder out by guessing at their name from elsewhere.
    """
    name = folded(sign_in_name[:200])
    if device := known_device(request, name):
        wanted = [(SIGN_IN_BY_DEVICE, device)]
    else:
        wanted = [(SIGN_IN_BY_ACCOUNT, name), (SIGN_IN_BY_ADDRESS, throttled_as(request.client_address))]
    wait = take_all(wanted, request.now)
    if wait:
        log.note("sign-in throttled", client=request.client_address, wait=wait)
    return wait


def known_device(request: HttpRequest, name: str) -> str:
    """Return the mark of a browser that has signed in to this account before, or an empty text."""
    try:
        marked = signing.loads(
            request.COOKIES.get(settings.DEVICE_COOKIE_NAME, ""), salt=DEVICE_SALT, max_age=DEVICE_SECONDS
        )
    except signing.BadSignature:
        return ""
    if not isinstance(marked, dict) or marked.get("for") != _name_digest(name):
        return ""
    return f"{marked['for']}:{marked.get('mark', '')}"


def remember_device(request: HttpRequest, response: HttpResponse, sign_in_name: str) -> None:
    """Mark this browser as one that has signed in to this account; call it after a sign-in that worked."""
    digest = _name_digest(folded(sign_in_name))
    value = signing.dumps({"for": digest, "mark": request.id}, salt=DEVICE_SALT)
    response.set_cookie(
        settings.DEVICE_COOKIE_NAME,
        value,
        max_age=DEVICE_SECONDS,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )


def _name_digest(name: str) -> str:
    return _key(Bucket("device-name", 1), name)[:32]


# Tokens


def wait_for_token(request: HttpRequest) -> int:
    """Return the seconds before this address may try another token; call it before looking one up."""
    return wait_for(WRONG_TOKENS, throttled_as(request.client_address), request.now)


def count_wrong_token(request: HttpRequest) -> None:
    """Count a token that opened nothing."""
    take(WRONG_TOKENS, throttled_as(request.client_address), request.now)
    log.note("token refused", client=request.client_address)
