"""The ZIP of a backup: written with a seal over all of it, and read with suspicion.

The seal is the SHA-256 of every byte before it, kept in the ZIP's own comment at the very end. ZIP programs
read past it; a flipped bit anywhere, also between the files, or a cut does not get past it.
"""

import hashlib
import os
import re
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

from buildlog.archive.manifest import Manifest, Member, from_json
from buildlog.archive.trouble import Damaged

MANIFEST = "manifest.json"
DATABASE = "database.sqlite3"
_NAMES = re.compile(
    r"manifest\.json|README\.txt|database\.sqlite3|rows/[a-z0-9_]{1,80}\.jsonl|keys/[a-z_]{1,40}"
    r"|photos/(originals|renditions)/[0-9a-f]{2}/[0-9a-f]{2}/[0-9a-f]{64}"
)
_SEAL = b"sha256:"
_SEAL_LENGTH = len(_SEAL) + 64
_STEP = 1 << 20
_MOST_MEMBERS = 2_000_000
_LARGEST_MANIFEST = 512 * 1024 * 1024


class Writer:
    """Writes one backup; `seal` ends it."""

    def __init__(self, path: Path, date: tuple[int, int, int, int, int, int]):
        self.path = path
        self.members: dict[str, Member] = {}
        self._date = date
        self._zip = zipfile.ZipFile(path, "x", zipfile.ZIP_STORED, allowZip64=True)
        os.chmod(path, 0o600)

    def add(self, name: str, file, *, deflate: bool = False) -> Member:
        """Copy an open binary file in under `name` and return its size and digest."""
        entry = zipfile.ZipInfo(name, self._date)
        entry.compress_type = zipfile.ZIP_DEFLATED if deflate else zipfile.ZIP_STORED
        entry.external_attr = 0o600 << 16
        digest, size = hashlib.sha256(), 0
        with self._zip.open(entry, "w", force_zip64=True) as out:
            while step := file.read(_STEP):
                digest.update(step)
                size += len(step)
                out.write(step)
        self.members[name] = Member(size, digest.hexdigest())
        return self.members[name]

    def seal(self) -> None:
        """Close the ZIP, write the digest of all of it into its last bytes, and sync it to disk."""
        self._zip.comment = _SEAL + b"0" * 64
        self._zip.close()
        with self.path.open("r+b") as file:
            digest = _digest_before_seal(file, self.path.stat().st_size)
            file.seek(-64, os.SEEK_END)
            file.write(digest.encode("ascii"))
            file.flush()
            os.fsync(file.fileno())

    def abandon(self) -> None:
        self._zip.close()


def _digest_before_seal(file, size: int) -> str:
    digest, left = hashlib.sha256(), size - 64
    file.seek(0)
    while left:
        step = file.read(min(_STEP, left))
        if not step:
            raise Damaged("The backup became shorter while it was read.")
        digest.update(step)
        left -= len(step)
    return digest.hexdigest()


def check_seal(path: Path) -> None:
    """Raise Damaged unless every byte of the file is as it was when the backup was sealed."""
    size = path.stat().st_size
    if size < _SEAL_LENGTH:
        raise Damaged(f"{path.name} is not a backup of Strake Reckoner, or its end is missing.")
    with path.open("rb") as file:
        file.seek(-_SEAL_LENGTH, os.SEEK_END)
        seal = file.read()
        if not seal.startswith(_SEAL):
            raise Damaged(f"{path.name} is not a backup of Strake Reckoner, or its end is missing.")
        if _digest_before_seal(file, size) != seal[len(_SEAL) :].decode("ascii", "replace"):
            raise Damaged(f"{path.name} is damaged: its bytes are not those that were written.")


class Reader:
    """Reads one backup. Only names and sizes that the manifest lists, and that we would write, come out of
    it.
    """

    def __init__(self, path: Path):
        self.path = path
        try:
            self._zip = zipfile.ZipFile(path)
        except (zipfile.BadZipFile, NotImplementedError, ValueError):
            raise Damaged(f"{path.name} is damaged: it cannot be opened as a ZIP file.") from None
        try:
            self.manifest = self._checked_manifest()
        except BaseException:
            self._zip.close()
            raise

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self._zip.close()

    def _checked_manifest(self) -> Manifest:
        entries = self._zip.infolist()
        names = [entry.filename for entry in entries]
        if len(names) > _MOST_MEMBERS or len(set(names)) != len(names):
            raise Damaged(f"{self.path.name} is damaged: it lists a file twice or too many files.")
        if strange := next((name for name in names if not _NAMES.fullmatch(name)), None):
            raise Damaged(f"{self.path.name} holds a file that no backup of ours holds: {strange[:80]!r}.")
        if MANIFEST not in names or self._zip.getinfo(MANIFEST).file_size > _LARGEST_MANIFEST:
            raise Damaged(f"{self.path.name} is not a backup of Strake Reckoner: it has no list of its files.")
        manifest = from_json(b"".join(self._steps(MANIFEST, self._zip.getinfo(MANIFEST).file_size)))
        said = {entry.filename: entry.file_size for entry in entries if entry.filename != MANIFEST}
        if said != {name: member.size for name, member in manifest.members.items()}:
            raise Damaged(f"{self.path.name} is damaged: its files are not those on its list.")
        return manifest

    def _steps(self, name: str, size: int) -> Iterator[bytes]:
        """Give the bytes of a member, and never one more than it should have."""
        left = size
        try:
            with self._zip.open(name) as file:
                while step := file.read(min(_STEP, left + 1)):
                    left -= len(step)
                    if left < 0:
                        raise Damaged(f"{name} is larger than the backup says.")
                    yield step
        except (zipfile.BadZipFile, EOFError, OSError, RuntimeError, NotImplementedError, ValueError):
            raise Damaged(f"{name} in the backup is damaged.") from None
        except Exception as trouble:
            if type(trouble).__module__ == "zlib":
                raise Damaged(f"{name} in the backup is damaged.") from None
            raise
        if left:
            raise Damaged(f"{name} is shorter than the backup says.")

    def copy_out(self, name: str, path: Path) -> None:
        """Write a member to `path`; what arrives is checked against the list as it is written."""
        member = self.manifest.members[name]
        digest = hashlib.sha256()
        with path.open("xb") as out:
            os.chmod(path, 0o600)
            for step in self._steps(name, member.size):
                digest.update(step)
                out.write(step)
        if digest.hexdigest() != member.sha256:
            raise Damaged(f"{name} in the backup is not as it was when it was put in.")

    def copy_all_out(self, folder: Path, say: Callable[[str], None], part_of: str = "") -> None:
        """Write every member whose name starts with `part_of` under `folder`."""
        names = [name for name in self.manifest.members if name.startswith(part_of)]
        for place, name in enumerate(names, 1):
            path = folder / name
            path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            self.copy_out(name, path)
            if place % 200 == 0:
                say(f"{place} of {len(names)} files")
