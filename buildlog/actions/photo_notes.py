"""Photographs that come many at once: each is kept or refused by itself, and named where it is refused."""

import hashlib
import uuid
from dataclasses import dataclass, field

from django.db import transaction
from django.utils.translation import gettext as _

from buildlog.models import Photo
from buildlog.photos.refusals import PhotoRefused, clean_name
from buildlog.queries.log import labels_of
from buildlog.queries.photos import Marked, marked, same_picture, words_for
from buildlog.site.disk import DiskFull

from .conflict import Conflict
from .photo_changes import label_photos
from .photos import receive_photo
from .sessions import add_words


@dataclass
class Received:
    """What became of each photograph."""

    kept: list = field(default_factory=list)
    # Of those kept, files that stand in the log already, from another time they were sent, and what became of the words
    # and the strake that came with them now.
    twice: list = field(default_factory=list)
    refused: list = field(default_factory=list)
    disk_full: bool = False
    # The strake that was chosen is not in the build, so they are kept without it.
    without_strake: bool = False


def _digest(file) -> str:
    """Two photographs of one name and size are two; the same one sent again is one."""
    digest = hashlib.sha256()
    for piece in file.chunks():
        digest.update(piece)
    file.seek(0)
    return digest.hexdigest()


def receive_photos(build, person, files, *, batch, session, caption, strake, now) -> Received:
    """Take in photographs of one form. ``batch`` is the form's own UUID: the same file of it is received once.

    ``session`` is one, or a function that gives it where none of a photograph's own day is in the log.
    """
    received = Received()
    for file in files:
        name, digest = clean_name(file.name), _digest(file)
        client_uuid = uuid.uuid5(batch, f"{file.name}/{digest}")
        told = {"caption": caption, "strake": strake, "session": session, "person": person, "now": now}
        twin = same_picture(build, digest)
        if twin and twin.client_uuid != client_uuid:
            _keep_twice(received, twin, name, told)
            continue
        try:
            photo, created = _receive(build, file, client_uuid, told)
            received.kept.append({"photo": photo, "created": created, "name": name})
        except PhotoRefused as refused:
            # The page says the name before the sentence, which begins with it as well.
            _refuse(received, name, refused.sentence.removeprefix(name).lstrip())
        except Conflict as conflict:
            if twin:
                # The file came before with other words; it is kept, and they are too.
                _keep_twice(received, twin, name, told)
            else:
                _refuse(received, name, conflict.sentence)
        except DiskFull:
            received.disk_full = True
            _refuse(received, name, _("The disk of the log is full; this photograph was not kept."))
    return received


def _receive(build, file, client_uuid, told):
    strake = told["strake"]
    return receive_photo(
        build, told["person"], client_uuid=client_uuid, file=file, now=told["now"], session=told["session"],
        caption=told["caption"], marks=[{"strake": strake, "side": strake.opening.side}] if strake else [],
    )  # fmt: skip


def _refuse(received, name, sentence):
    received.refused.append({"name": name, "sentence": sentence})


def _keep_twice(received, twin, name, told):
    received.kept.append({"photo": twin, "created": False, "name": name})
    received.twice.append({"name": name, "photo": twin} | _lay_on(twin, name, **told))


def _lay_on(photo, name, *, caption, strake, session, person, now) -> dict:
    """Keep the words and the strake that came with a photograph of the log: on it where it has none of its own, else in
    the note of the sender's own session. Return which it was.
    """
    with transaction.atomic():
        photo = Photo.objects.select_for_update(no_key=True).get(pk=photo.pk)
        found = marked(photo)
        words = "" if photo.caption else caption
        is_bare = not (found.strakes or found.stations or found.side)
        strakes = [strake] if strake and is_bare else []
        laid = words or strakes
        if laid:
            label_photos(photo.build, [photo], strakes=strakes, caption=words, person=person, now=now)
        rest = caption if caption != (photo.caption or words) else ""
        other = (strake,) if strake and not strakes and strake not in found.strakes else ()
        said = words_for(Marked(other, (), ""), labels_of(photo.build), rest)
        noted = _note(photo, name, said, session, person, now) if said else None
    return {"is_laid_on": bool(laid), "noted": noted}


def _note(photo, name, said, session, person, now):
    session = session() if callable(session) else session
    told = {"name": photo.file_name or name, "person": person.display_name, "words": said}
    return add_words(session, person=person, now=now, note=_("%(name)s, says %(person)s: %(words)s") % told)
