"""Look at an upload without decoding it: what it is, how large, whether it is whole."""

import hashlib
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _

from buildlog.photos import exif, heif
from buildlog.photos.facts import CutShort, Damaged, Facts
from buildlog.photos.kinds import CONTENT_TYPES, HEAD_LENGTH, kind_of, word_for
from buildlog.photos.limits import (
    LARGEST_FILE,
    LONGEST_SIDE,
    MEGAPIXEL,
    MOST_METADATA,
    MOST_METADATA_PIECES,
    MOST_PIXELS,
)
from buildlog.photos.refusals import refused, side_too_long, too_big, too_much_metadata
from buildlog.photos.strip import FORMATS

_STEP = 1 << 20


@dataclass(frozen=True)
class Checked:
    """An upload that may be kept, with what its own bytes say about it."""

    name: str
    kind: str
    size: int
    width: int
    height: int
    orientation: int
    taken_local: datetime | None
    camera: str
    sha256: str

    @property
    def content_type(self) -> str:
        return CONTENT_TYPES[self.kind]


def check(file) -> Checked:
    """Return what an upload is, or raise PhotoRefused with the sentence to show. The file is left at its
    start.
    """
    name, size = getattr(file, "name", ""), _size_of(file)
    if not size:
        raise refused("empty", name)
    if size > LARGEST_FILE:
        raise too_big(name, size)
    kind = _kind_or_refusal(file, name)
    facts = _facts_or_refusal(file, kind, name)
    refuse_large(kind, facts.width, facts.height, name)
    if facts.moving:
        raise refused("moving", name)
    if facts.metadata_bytes > MOST_METADATA or facts.metadata_pieces > MOST_METADATA_PIECES:
        raise too_much_metadata(name, facts.metadata_bytes, facts.metadata_pieces)
    return Checked(
        name=str(name or ""),
        kind=kind,
        size=size,
        width=facts.width,
        height=facts.height,
        orientation=exif.orientation(facts.exif),
        taken_local=exif.taken_local(facts.exif),
        camera=exif.camera(facts.exif),
        sha256=sha256_of(file),
    )


def refuse_large(kind: str, width: int, height: int, name: object) -> None:
    """Raise the refusal of a picture with more points than may be decoded."""
    if max(width, height) > LONGEST_SIDE:
        raise side_too_long(name, width, height)
    if width * height > MOST_PIXELS[kind]:
        most, pixels = MOST_PIXELS[kind] // MEGAPIXEL, f"{width * height / MEGAPIXEL:.1f}"
        shown = {"WEBP": "WebP", "HEIF": "HEIC"}.get(kind, kind)
        raise refused(
            "too_many_pixels", name, width=width, height=height, pixels=pixels, most=most, kind=shown
        )


def sha256_of(file) -> str:
    """Return the SHA-256 of a whole file in hex, and leave the file at its start."""
    digest = hashlib.sha256()
    file.seek(0)
    while step := file.read(_STEP):
        digest.update(step)
    file.seek(0)
    return digest.hexdigest()


def _size_of(file) -> int:
    file.seek(0, 2)
    size = file.tell()
    file.seek(0)
    return size


def _kind_or_refusal(file, name) -> str:
    head = file.read(HEAD_LENGTH)
    file.seek(0)
    kind = kind_of(head)
    if kind == "HEIF" and not heif.can_open():
        raise refused("heic", name)
    if kind:
        return kind
    word = word_for(head)
    raise refused("other_kind", name, kind=_(word)) if word else refused("not_a_photo", name)


def _facts_or_refusal(file, kind: str, name) -> Facts:
    try:
        return FORMATS[kind].read_facts(file)
    except CutShort:
        raise refused("cut_short", name) from None
    except Damaged:
        raise refused("damaged", name) from None
    finally:
        file.seek(0)
