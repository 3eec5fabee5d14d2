"""What the headers of a picture say before anything is decoded."""

from dataclasses import dataclass


class Damaged(ValueError):
    """The file starts like a picture and does not go on like one."""


class CutShort(Damaged):
    """The file ends before the picture does."""


@dataclass(frozen=True)
class Facts:
    """Size and wrapping of one picture, read from its headers alone."""

    width: int
    height: int
    moving: bool = False
    metadata_bytes: int = 0
    metadata_pieces: int = 0
    exif: bytes = b""


@dataclass(frozen=True)
class Parts:
    """A picture parted from what the camera wrapped round it: the picture alone, its colour profile, its
    Exif.
    """

    picture: bytes
    exif: bytes = b""
    icc: bytes = b""


def read_exactly(stream, count: int) -> bytes:
    """Return the next `count` bytes; a shorter rest means that the file was cut."""
    found = stream.read(count)
    if len(found) != count:
        raise CutShort
    return found
