"""Take the picture out of everything a camera wraps round it."""

from buildlog.photos import heif, jpeg, png, webp
from buildlog.photos.facts import Damaged, Parts
from buildlog.photos.kinds import HEAD_LENGTH, kind_of

FORMATS = {"JPEG": jpeg, "PNG": png, "WEBP": webp, "HEIF": heif}


def strip(content: bytes) -> Parts:
    """Return the picture alone, its colour profile, and the Exif block; text, place, previews and tails are
    dropped.

    The decoder is only ever shown `picture`, so a hostile block of notes never reaches it.
    """
    kind = kind_of(content[:HEAD_LENGTH])
    if kind is None:
        raise Damaged
    return FORMATS[kind].split(content)
