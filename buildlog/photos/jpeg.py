"""JPEG: a row of marked segments, then scans, then the end marker; whatever follows that is not the
picture.
"""

import re
from collections.abc import Iterator

from buildlog.photos.facts import CutShort, Damaged, Facts, Parts, read_exactly
from buildlog.photos.limits import MOST_ICC, MOST_PIECES

_END, _SCAN = 0xD9, 0xDA
_WITHOUT_LENGTH = {0x01, *range(0xD0, 0xD9)}
_FRAMES = set(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
_ADOBE, _ICC, _EXIF = 0xEE, 0xE2, 0xE1
_METADATA = {*range(0xE0, 0xF0), 0xFE}
# Within a scan, FF 00 is a plain FF and FF D0 to D7 are restarts; any other pair is the next segment.
_NEXT_MARKER = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]")
_STEP = 1 << 20


def read_facts(stream) -> Facts:
    """Walk the segments up to the first scan, and see that an end marker follows."""
    read_exactly(stream, 2)
    sizes: list[tuple[int, int]] = []
    exif, count, total = b"", 0, 0
    for _piece in range(MOST_PIECES):
        marker = _next_marker(stream)
        if marker in _WITHOUT_LENGTH:
            continue
        if marker == _END:
            break
        length = _length(stream)
        if marker == _SCAN:
            return _facts(stream, sizes, exif, total, count)
        wanted = marker in _FRAMES or (marker == _EXIF and not exif)
        body = stream.read(length) if wanted else b""
        stream.seek(length - len(body), 1)
        if marker in _FRAMES:
            sizes.append(_frame_size(body))
        if marker in _METADATA:
            count, total = count + 1, total + length
        if body.startswith(b"Exif\0\0"):
            exif = body[6:]
    raise Damaged


def _facts(stream, sizes, exif: bytes, total: int, count: int) -> Facts:
    # Two frame headers are how a small size is shown to the checker and a large one to the decoder.
    if len(sizes) != 1:
        raise Damaged
    _see_the_end(stream)
    width, height = sizes[0]
    return Facts(width, height, metadata_bytes=total, metadata_pieces=count, exif=exif)


def _next_marker(stream) -> int:
    if read_exactly(stream, 1) != b"\xff":
        raise Damaged
    for _fill in range(4096):
        found = read_exactly(stream, 1)[0]
        if found != 0xFF:
            return found
    raise Damaged


def _length(stream) -> int:
    length = int.from_bytes(read_exactly(stream, 2), "big") - 2
    if length < 0:
        raise Damaged
    return length


def _frame_size(body: bytes) -> tuple[int, int]:
    if len(body) < 6:
        raise Damaged
    height, width = int.from_bytes(body[1:3], "big"), int.from_bytes(body[3:5], "big")
    if not height or not width:
        raise Damaged
    return width, height


def _see_the_end(stream) -> None:
    last = b""
    while step := stream.read(_STEP):
        if b"\xff\xd9" in last + step:
            return
        last = step[-1:]
    raise CutShort


def split(content: bytes) -> Parts:
    """Keep tables, frame and scans, and Adobe's colour flag; part off Exif and profile; drop the rest and
    the tail.
    """
    kept, exif, profile = [content[:2]], b"", {}
    for marker, start, end in _segments(content):
        if marker == _EXIF and content[start + 4 : start + 10] == b"Exif\0\0":
            exif = exif or content[start + 10 : end]
        elif marker == _ICC and content[start + 4 : start + 16] == b"ICC_PROFILE\0":
            profile[content[start + 16]] = content[start + 18 : end]
        elif marker not in _METADATA or marker == _ADOBE:
            kept.append(content[start:end])
        if marker == _END:
            break
    icc = b"".join(profile[place] for place in sorted(profile))
    return Parts(b"".join(kept), exif, icc if len(icc) <= MOST_ICC else b"")


def _segments(content: bytes) -> Iterator[tuple[int, int, int]]:
    """Give (marker, start, end) of every segment; a scan's segment reaches to the next marker."""
    at = 2
    for _piece in range(MOST_PIECES):
        found = _NEXT_MARKER.search(content, at)
        if not found:
            raise CutShort
        start, marker = found.start(), content[found.start() + 1]
        end = start + 2
        if marker not in _WITHOUT_LENGTH and marker != _END:
            end += max(2, int.from_bytes(content[start + 2 : start + 4], "big"))
        if marker == _SCAN:
            after = _NEXT_MARKER.search(content, end)
            end = after.start() if after else len(content)
        yield marker, start, end
        at = end
        if marker == _END:
            return
    raise Damaged
