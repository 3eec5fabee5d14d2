"""PNG: a row of named chunks, each with its length and check sum."""

import zlib
from collections.abc import Iterator

from buildlog.photos.facts import CutShort, Damaged, Facts, Parts, read_exactly
from buildlog.photos.limits import MOST_ICC, MOST_PIECES

_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_PICTURE = {b"IHDR", b"PLTE", b"tRNS", b"IDAT", b"IEND"}
_MOST_EXIF = 65_536


def read_facts(stream) -> Facts:
    """Walk the chunks to the end mark without reading the picture."""
    read_exactly(stream, len(_SIGNATURE))
    size, moving, exif, count, total = None, False, b"", 0, 0
    for _piece in range(MOST_PIECES):
        length, name = _chunk_head(stream)
        if (size is None) != (name == b"IHDR"):
            raise Damaged
        wanted = name in (b"IHDR", b"acTL") or (name == b"eXIf" and length <= _MOST_EXIF)
        body = read_exactly(stream, length) if wanted else b""
        stream.seek(length - len(body) + 4, 1)
        if name == b"IHDR":
            size = _size(body)
        elif name == b"acTL":
            moving = int.from_bytes(body[:4], "big") > 1
        elif name == b"eXIf":
            exif = body
        elif name == b"IEND":
            return Facts(*size, moving, total, count, exif)
        if name not in _PICTURE:
            count, total = count + 1, total + length
    raise Damaged


def _chunk_head(stream) -> tuple[int, bytes]:
    head = read_exactly(stream, 8)
    length, name = int.from_bytes(head[:4], "big"), head[4:]
    if length > 0x7FFFFFFF or not name.isalpha():
        raise Damaged
    if name == b"acTL" and length != 8:
        raise Damaged
    return length, name


def _size(body: bytes) -> tuple[int, int]:
    if len(body) != 13:
        raise Damaged
    width, height = int.from_bytes(body[:4], "big"), int.from_bytes(body[4:8], "big")
    if not width or not height:
        raise Damaged
    return width, height


def split(content: bytes) -> Parts:
    """Keep header, palette, transparency and picture; part off Exif and profile; drop text, time and the
    tail.
    """
    kept, exif, icc = [_SIGNATURE], b"", b""
    for name, start, end in _chunks(content):
        if name in _PICTURE:
            kept.append(content[start:end])
        elif name == b"eXIf":
            exif = content[start + 8 : end - 4]
        elif name == b"iCCP":
            icc = _profile(content[start + 8 : end - 4])
    return Parts(b"".join(kept), exif, icc)


def _chunks(content: bytes) -> Iterator[tuple[bytes, int, int]]:
    at = len(_SIGNATURE)
    for _piece in range(MOST_PIECES):
        length, name = int.from_bytes(content[at : at + 4], "big"), content[at + 4 : at + 8]
        end = at + 12 + length
        if end > len(content):
            raise CutShort
        yield name, at, end
        if name == b"IEND":
            return
        at = end
    raise Damaged


def _profile(body: bytes) -> bytes:
    """Unpack a colour profile, but never more than the cap: a few bytes can unpack to gigabytes."""
    _name, _zero, packed = body.partition(b"\0")
    unpacker = zlib.decompressobj()
    try:
        icc = unpacker.decompress(packed[1:], MOST_ICC)
    except zlib.error:
        return b""
    return icc if unpacker.eof else b""
