"""The three things wanted of a camera's notes: which way up the picture is, when it was taken, the camera's kind.

A reader of our own, because it then cannot reach the place, the owner's name or the serial number at all.
"""

from datetime import datetime

_ORIENTATION, _CHANGED_AT, _TAKEN_AT, _EXIF_TABLE, _MODEL = 0x0112, 0x0132, 0x9003, 0x8769, 0x0110
_MOST_LETTERS = 60
_SHORT, _LONG, _TEXT = 3, 4, 2
_MOST_ENTRIES = 512


def orientation(exif: bytes) -> int:
    """Return 1 to 8 as the camera wrote it; 1, upright, for anything else."""
    found = _wanted(exif).get(_ORIENTATION)
    return found if isinstance(found, int) and 1 <= found <= 8 else 1


def taken_local(exif: bytes) -> datetime | None:
    """Return the camera's own time of the shot, without a zone because most cameras write none."""
    entries = _wanted(exif)
    for tag in (_TAKEN_AT, _CHANGED_AT):
        moment = _moment(entries.get(tag))
        if moment:
            return moment
    return None


def camera(exif: bytes) -> str:
    """Return the kind of camera, the same for all of its kind; its serial number is another note, never read."""
    found = _wanted(exif).get(_MODEL)
    text = found.decode("ascii", "ignore") if isinstance(found, bytes) else ""
    return "".join(letter for letter in text if letter.isprintable()).strip()[:_MOST_LETTERS]


def _moment(found: int | bytes | None) -> datetime | None:
    if not isinstance(found, bytes):
        return None
    try:
        moment = datetime.strptime(found[:19].decode("ascii"), "%Y:%m:%d %H:%M:%S")  # noqa: DTZ007
    except ValueError:
        return None
    return moment if 1990 <= moment.year <= 2200 else None


def _wanted(exif: bytes) -> dict[int, int | bytes]:
    order = {b"II*\0": "little", b"MM\0*": "big"}.get(exif[:4])
    if not order:
        return {}
    entries = _table(exif, int.from_bytes(exif[4:8], order), order)
    inner = entries.get(_EXIF_TABLE)
    if isinstance(inner, int):
        entries = {**_table(exif, inner, order), **entries}
    return entries


def _table(exif: bytes, at: int, order) -> dict[int, int | bytes]:
    count = int.from_bytes(exif[at : at + 2], order)
    entries = {}
    for place in range(min(count, _MOST_ENTRIES)):
        entry = exif[at + 2 + 12 * place : at + 14 + 12 * place]
        tag = int.from_bytes(entry[:2], order)
        if len(entry) == 12 and tag == _MODEL:
            entries[tag] = _text(exif, entry, order)
        elif len(entry) == 12 and tag in (_ORIENTATION, _CHANGED_AT, _TAKEN_AT, _EXIF_TABLE):
            entries[tag] = _value(exif, entry, order)
    return entries


def _value(exif: bytes, entry: bytes, order) -> int | bytes:
    kind, count = int.from_bytes(entry[2:4], order), int.from_bytes(entry[4:8], order)
    if kind == _SHORT:
        return int.from_bytes(entry[8:10], order)
    if kind == _LONG:
        return int.from_bytes(entry[8:12], order)
    if kind == _TEXT and count >= 19:
        start = int.from_bytes(entry[8:12], order)
        return exif[start : start + 19]
    return b""


def _text(exif: bytes, entry: bytes, order) -> bytes:
    """Return a text to its end mark; four letters and fewer stand in the entry itself."""
    kind, count = int.from_bytes(entry[2:4], order), int.from_bytes(entry[4:8], order)
    if kind != _TEXT:
        return b""
    start = int.from_bytes(entry[8:12], order)
    whole = entry[8 : 8 + count] if count <= 4 else exif[start : start + min(count, 4 * _MOST_LETTERS)]
    return whole.split(b"\0")[0]
