"""WebP: a RIFF box with the picture in a VP8 or VP8L chunk, and perhaps a VP8X chunk before it."""

from collections.abc import Iterator

from buildlog.photos.facts import CutShort, Damaged, Facts, Parts, read_exactly
from buildlog.photos.limits import MOST_ICC, MOST_METADATA_PIECES

_PICTURE = {b"VP8X", b"VP8 ", b"VP8L", b"ALPH"}
_MOVING = {b"ANIM", b"ANMF"}
_ALPHA_FLAG, _MOVING_FLAG = 0x10, 0x02
_MOST_EXIF = 65_536


def read_facts(stream) -> Facts:
    """Walk the chunks of the box; canvas and picture must be of one size."""
    total = _box_length(stream)
    sizes: dict[bytes, tuple[int, int]] = {}
    moving, exif, extra, count = False, b"", 0, 0
    at = 12
    while at + 8 <= total and not moving:
        head = read_exactly(stream, 8)
        name, length = head[:4], int.from_bytes(head[4:], "little")
        if at + 8 + length > total or count > MOST_METADATA_PIECES + 8:
            raise Damaged
        body = read_exactly(stream, min(length, _MOST_EXIF if name == b"EXIF" else 10))
        stream.seek(length - len(body) + length % 2, 1)
        at += 8 + length + length % 2
        moving = name in _MOVING or (name == b"VP8X" and bool(body and body[0] & _MOVING_FLAG))
        if name in _SIZE_READERS:
            sizes[name] = _SIZE_READERS[name](body)
        if name == b"EXIF":
            exif = body.removeprefix(b"Exif\0\0")
        count += 1
        extra += 0 if name in _PICTURE else length
    return Facts(*_one_size(sizes, moving), moving, extra, max(0, count - len(sizes)), exif)


def _box_length(stream) -> int:
    head = read_exactly(stream, 12)
    total = int.from_bytes(head[4:8], "little") + 8
    stream.seek(0, 2)
    length = stream.tell()
    stream.seek(12)
    if total > length + 1:
        raise CutShort
    return min(total, length)


def _one_size(sizes: dict[bytes, tuple[int, int]], moving: bool) -> tuple[int, int]:
    pictures = [size for name, size in sizes.items() if name != b"VP8X"]
    if moving and not pictures:
        return sizes.get(b"VP8X", (1, 1))
    if len(pictures) != 1 or sizes.get(b"VP8X", pictures[0]) != pictures[0]:
        raise Damaged
    return pictures[0]


def _canvas_size(body: bytes) -> tuple[int, int]:
    if len(body) < 10:
        raise Damaged
    return int.from_bytes(body[4:7], "little") + 1, int.from_bytes(body[7:10], "little") + 1


def _lossy_size(body: bytes) -> tuple[int, int]:
    if len(body) < 10 or body[3:6] != b"\x9d\x01\x2a":
        raise Damaged
    bits = int.from_bytes(body[6:10], "little")
    width, height = bits & 0x3FFF, bits >> 16 & 0x3FFF
    if not width or not height:
        raise Damaged
    return width, height


def _lossless_size(body: bytes) -> tuple[int, int]:
    if len(body) < 5 or body[0] != 0x2F:
        raise Damaged
    bits = int.from_bytes(body[1:5], "little")
    return (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1


_SIZE_READERS = {b"VP8X": _canvas_size, b"VP8 ": _lossy_size, b"VP8L": _lossless_size}


def split(content: bytes) -> Parts:
    """Keep the picture and its transparency in a new box; part off Exif and profile; drop the rest and the
    tail.
    """
    kept, exif, icc = [], b"", b""
    for name, body in _chunks(content):
        if name == b"VP8X":
            body = bytes([body[0] & _ALPHA_FLAG]) + body[1:]
        if name in _PICTURE:
            kept.append(name + len(body).to_bytes(4, "little") + body + b"\0" * (len(body) % 2))
        elif name == b"EXIF":
            exif = body.removeprefix(b"Exif\0\0")
        elif name == b"ICCP" and len(body) <= MOST_ICC:
            icc = body
    inside = b"WEBP" + b"".join(kept)
    return Parts(b"RIFF" + len(inside).to_bytes(4, "little") + inside, exif, icc)


def _chunks(content: bytes) -> Iterator[tuple[bytes, bytes]]:
    total = min(len(content), int.from_bytes(content[4:8], "little") + 8)
    at = 12
    while at + 8 <= total:
        name, length = content[at : at + 4], int.from_bytes(content[at + 4 : at + 8], "little")
        if at + 8 + length > len(content):
            raise CutShort
        yield name, content[at + 8 : at + 8 + length]
        at += 8 + length + length % 2
