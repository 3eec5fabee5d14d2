"""Keep files under their own SHA-256, synced to disk, file and folder, before anything says that they are
kept.

Django's file storage never syncs: after a power cut the row is there and the photograph is an empty file.
The order here is: a `.part` file in the same folder, sync, rename, sync the folder; the row is committed
after that.
"""

import contextlib
import hashlib
import os
import re
import secrets
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings

ORIGINALS, RENDITIONS = "originals", "renditions"
PART = ".part"
KEY = re.compile(r"(?:originals|renditions)/[0-9a-f]{2}/[0-9a-f]{2}/[0-9a-f]{64}")
_STEP = 1 << 20


@dataclass(frozen=True)
class Kept:
    """A file that is on the disk, synced."""

    key: str
    sha256: str
    size: int


def root() -> Path:
    """Return the folder of all photographs; it is never served by itself."""
    return Path(settings.MEDIA_ROOT)


def path_of(key: str) -> Path:
    """Return where a key's file lies. Anything that is not a key of ours is refused, so no path can be
    climbed.
    """
    if not KEY.fullmatch(key):
        raise ValueError("not a key of a photograph")
    return root() / key


def key_of(sha256: str, room: str = ORIGINALS) -> str:
    return f"{room}/{sha256[:2]}/{sha256[2:4]}/{sha256}"


def store(file, room: str = ORIGINALS) -> Kept:
    """Keep the whole of a binary file and return its key. The same content is kept once.

    Raises OSError (disk full) with nothing left behind.
    """
    part = _new_part(root() / room)
    try:
        sha256, size = _write(file, part)
        kept = Kept(key_of(sha256, room), sha256, size)
        _put_in_place(part, kept)
        return kept
    finally:
        part.unlink(missing_ok=True)


def _new_part(folder: Path) -> Path:
    make_folder(folder)
    return folder / f"{secrets.token_hex(16)}{PART}"


def _write(file, part: Path) -> tuple[str, int]:
    digest, size = hashlib.sha256(), 0
    file.seek(0)
    handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
    with os.fdopen(handle, "wb") as out:
        while step := file.read(_STEP):
            digest.update(step)
            size += len(step)
            out.write(step)
        out.flush()
        os.fsync(out.fileno())
    return digest.hexdigest(), size


def _put_in_place(part: Path, kept: Kept) -> None:
    path = path_of(kept.key)
    if _is_there_whole(path, kept):
        return
    make_folder(path.parent)
    os.replace(part, path)
    sync_folder(path.parent)


def _is_there_whole(path: Path, kept: Kept) -> bool:
    """Say whether the same content is kept already, and if so renew its date so that no sweep takes it for
    old.
    """
    try:
        os.utime(path)
        if path.stat().st_size != kept.size:
            return False
        with path.open("rb") as file:
            return digest_of(file) == kept.sha256
    except FileNotFoundError:
        return False


def digest_of(file) -> str:
    """Return the SHA-256 of an open binary file in hex."""
    return hashlib.file_digest(file, "sha256").hexdigest()


def make_folder(folder: Path) -> None:
    """Make a folder and sync each parent that gained an entry; a folder not synced is lost with all in it."""
    missing = [each for each in (folder, *folder.parents) if not each.exists()]
    for each in reversed(missing):
        each.mkdir(mode=0o700, exist_ok=True)
        sync_folder(each.parent)


def sync_folder(folder: Path) -> None:
    """Sync a folder's list of names. Windows has no such call and does it with the file."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


@contextlib.contextmanager
def scratch_folder():
    """Give a folder of one's own on the same disk, gone afterwards; the sweep takes what a killed worker
    left.
    """
    import shutil

    folder = root() / "scratch" / secrets.token_hex(8)
    make_folder(folder)
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)
