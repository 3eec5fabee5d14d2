"""Photographs that come many at once: each is kept or refused by itself, and named where it is refused."""

import hashlib
import uuid
from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from buildlog.photos.refusals import PhotoRefused, clean_name
from buildlog.queries.photos import same_picture
from buildlog.site.disk import DiskFull

from .conflict import Conflict
from .photos import receive_photo


@dataclass
class Received:
    """What became of each photograph."""

    kept: list = field(default_factory=list)
    # Of those kept, the names of files that stand in the log already, from another time they were sent.
    twice: list = field(default_factory=list)
    refused: list = field(default_factory=list)
    disk_full: bool = False


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
    marks = [{"strake": strake, "side": strake.opening.side}] if strake else []
    for file in files:
        digest = _digest(file)
        client_uuid = uuid.uuid5(batch, f"{file.name}/{digest}")
        twin = same_picture(build, digest)
        if twin and twin.client_uuid != client_uuid:
            received.kept.append({"photo": twin, "created": False, "name": clean_name(file.name)})
            received.twice.append({"name": clean_name(file.name), "photo": twin})
            continue
        try:
            photo, created = receive_photo(
                build,
                person,
                client_uuid=client_uuid,
                file=file,
                now=now,
                session=session,
                caption=caption,
                marks=marks,
            )
            received.kept.append({"photo": photo, "created": created, "name": clean_name(file.name)})
        except PhotoRefused as refused:
            name = clean_name(file.name)
            # The page says the name before the sentence, which begins with it as well.
            received.refused.append({"name": name, "sentence": refused.sentence.removeprefix(name).lstrip()})
        except Conflict as conflict:
            received.refused.append({"name": clean_name(file.name), "sentence": conflict.sentence})
        except DiskFull:
            received.disk_full = True
            sentence = _("The disk of the log is full; this photograph was not kept.")
            received.refused.append({"name": clean_name(file.name), "sentence": sentence})
    return received
