"""HEIC from phones: its size is looked up here; opening it needs the optional pillow-heif library."""

import importlib.util
import re

from buildlog.photos.facts import Damaged, Facts, Parts

_LOOKED_AT = 1 << 20
_MOST_EXIF = 65_536
_NOTES = re.compile(rb"Exif\0\0(?:II\*\0|MM\0\*)")


def can_open() -> bool:
    """Say whether this machine has the library that opens HEIC."""
    return importlib.util.find_spec("pillow_heif") is not None


def read_facts(stream) -> Facts:
    """Read the largest size that the boxes name: a picture made of tiles names the tile's size as well."""
    head = stream.read(_LOOKED_AT)
    sizes, at = [], head.find(b"ispe")
    while at >= 0:
        sizes.append(tuple(int.from_bytes(head[at + skip : at + skip + 4], "big") for skip in (8, 12)))
        at = head.find(b"ispe", at + 4)
    whole = [(width, height) for width, height in sizes if width and height]
    if not whole:
        raise Damaged
    return Facts(*max(whole, key=lambda size: size[0] * size[1]), exif=_exif(stream))


def _exif(stream) -> bytes:
    """Find the notes by the mark they begin with; the boxes that point at them need not be followed."""
    stream.seek(0)
    kept = b""
    while step := stream.read(_LOOKED_AT):
        found = _NOTES.search(kept + step)
        if found:
            return (kept + step)[found.start() + 6 :][:_MOST_EXIF] + stream.read(_MOST_EXIF)
        kept = (kept + step)[-10:]
    return b""


def split(content: bytes) -> Parts:
    """Leave the boxes whole: a rendition made anew carries none of them."""
    return Parts(content)
