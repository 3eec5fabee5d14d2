"""Photographs: received and synced at once, made ready by the worker, or refused with the reason."""

import hashlib
import json

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from buildlog.jobs.bell import bell
from buildlog.models import Event, Photo, PhotoMark, PhotoRendition
from buildlog.photos import store
from buildlog.photos.check import check
from buildlog.photos.refusals import clean_name
from buildlog.site.disk import require_room

from .conflict import Conflict
from .events import tell_event
from .jobs import queue_job

State = Photo.State
_MARK_FIELDS = ("strake", "plank", "station", "side")


def receive_photo(
    build, person, *, client_uuid, file, now, session=None, caption="", marks=(), known_at=None
):
    """Keep one photograph and return ``(photo, created)``.

    The same ``client_uuid`` with the same content gives back the first row; with other content it is a
    Conflict. ``marks`` are dicts of strake, plank, station and side. Raises PhotoRefused with the sentence
    to show, and DiskFull. The original lies on the disk, synced, before the row is committed.

    ``session`` may be a function that gives one: it is asked only where no session of the day the photograph was taken
    on is in the log. A camera's clock finds a session, and never begins one.
    """
    checked = check(file)
    content = content_digest(checked.sha256, person, caption, marks)
    if first := _first_of(build, client_uuid):
        return _same_photo(first, content), False
    require_room()
    if callable(session):
        session = _session_of_day(build, person, checked.taken_local) or session()
    kept = store.store(file)
    photo = Photo(
        build=build, person=person, client_uuid=client_uuid, session=session, caption=caption,
        sha256=kept.sha256, file_bytes=kept.size, media_type=checked.content_type,
        file_name=clean_name(checked.name),
        taken_local=checked.taken_local.isoformat() if checked.taken_local else "", camera=checked.camera,
        known_at=min(known_at or now, now), received_at=now,
    )  # fmt: skip
    try:
        _commit(photo, marks, content, now)
    except IntegrityError:
        if (first := _first_of(build, client_uuid)) is None:
            raise
        return _same_photo(first, content), False
    return photo, True


def _session_of_day(build, person, taken):
    """Return the session of the day a photograph was taken on, its own person's first, or None."""
    if taken is None:
        return None
    of_day = build.sessions.filter(local_date=taken.date()).order_by("opened_at")
    return of_day.filter(by=person).first() or of_day.first()


def content_digest(sha256, person, caption, marks) -> str:
    """Return the SHA-256 of what was sent: the file, who, the words and the marks, but not the times."""
    told = [
        [str(getattr(mark.get(name), "pk", mark.get(name) or "")) for name in _MARK_FIELDS] for mark in marks
    ]
    fields = {
        "file": sha256,
        "person": getattr(person, "pk", None),
        "caption": caption,
        "marks": sorted(told),
    }
    return hashlib.sha256(json.dumps(fields, sort_keys=True).encode()).hexdigest()


def _told(value) -> str:
    return str(getattr(value, "pk", value or ""))


def _commit(photo, marks, content, now):
    with transaction.atomic():
        photo.save(force_insert=True)
        PhotoMark.objects.bulk_create(PhotoMark(photo=photo, **mark) for mark in marks)
        sent = {"content_sha256": content}
        tell_event("received", photo, build=photo.build, now=now, person=photo.person, after=sent)
        queue_job("photo", build=photo.build, now=now, photo=str(photo.uuid))
        transaction.on_commit(bell.set)


def _first_of(build, client_uuid):
    return Photo.objects.filter(build=build, client_uuid=client_uuid).first()


def _same_photo(first, content):
    sent = Event.objects.filter(build=first.build, verb="received", noun="photo", uuid=first.uuid).first()
    if sent is None or sent.after.get("content_sha256") != content:
        raise Conflict(_("This photograph was already sent with other content."), theirs=first)
    return first


def make_ready(photo, made):
    """Lay down the renditions, pairs of (Rendition, Kept) largest first, and let others see them."""
    large = made[0][0]
    with transaction.atomic():
        for rendition, kept in made:
            PhotoRendition.objects.update_or_create(
                photo=photo,
                size=rendition.size,
                defaults={
                    "key": kept.key, "sha256": kept.sha256, "file_bytes": kept.size,
                    "width": rendition.width, "height": rendition.height,
                },
            )  # fmt: skip
        now = Photo.objects.select_for_update().get(pk=photo.pk)
        # Cut or turned anew meanwhile: what was made is of the past, and the job for the new edit shows it.
        state = State.READY if now.edits == photo.edits else State.RECEIVED
        Photo.objects.filter(pk=photo.pk).update(
            state=state, refusal="", width=large.width, height=large.height
        )


def refuse_photo(photo, sentence, *, now):
    """Say why a received photograph cannot be shown. Its row stays; the sweep takes the file a month later."""
    with transaction.atomic():
        Photo.objects.filter(pk=photo.pk).update(state=State.REFUSED, refusal=sentence[:300], shared=False)
        tell_event("refused", photo, build=photo.build, now=now, after={"reason": sentence[:300]})


def take_out_photo(photo, *, person, now):
    """Hide a photograph: its row and its file stay, and it may be put back. The club no longer sees it."""
    _set_out(photo, "taken out", now, person, now)


def put_back_photo(photo, *, person, now):
    _set_out(photo, "put back", None, person, now)


def _set_out(photo, verb, moment, person, now):
    with transaction.atomic():
        standing = Photo.objects.filter(pk=photo.pk, taken_out_at__isnull=moment is not None)
        if standing.update(taken_out_at=moment):
            tell_event(verb, photo, build=photo.build, now=now, person=person)
