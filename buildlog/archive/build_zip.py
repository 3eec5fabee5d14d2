"""The ZIP of one build: written with a list of digests that anybody can check, and read with suspicion."""

import hashlib
import io
import os
import re
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path

from buildlog.archive.trouble import Damaged

BUILD, SCHEMA, SUMS, README, INDEX = (
    "build.json", "schema.json", "SHA256SUMS", "READ ME.txt", "photographs/index.csv",
)  # fmt: skip
_NAMES = re.compile(
    r"build\.json|schema\.json|SHA256SUMS|READ ME\.txt|(plan|girths|widths|gaps|sessions|remarks)\.csv"
    r"|photographs/index\.csv|photographs/[0-9]{4,6}\.(jpg|png|webp|heic)"
)
_STEP = 1 << 20
_MEGABYTE = 1 << 20
MOST_FILES = 20_000
LARGEST_TEXT = 64 * _MEGABYTE
LARGEST_PHOTOGRAPH = 40 * _MEGABYTE
LARGEST_IN_ALL = 32 * 1024 * _MEGABYTE
# Text of ours packs to a twentieth; a file that grows two-hundredfold was made to fill a disk.
MOST_GROWTH, SMALL = 200, _MEGABYTE
_UNREADABLE = (zipfile.BadZipFile, zlib.error, EOFError, OSError, RuntimeError, NotImplementedError, ValueError)


class Writer:
    """Writes one build; `seal` ends it."""

    def __init__(self, path: Path, date: tuple[int, ...]):
        self.path, self._date, self._sums = path, date, []
        self._zip = zipfile.ZipFile(path, "x", zipfile.ZIP_STORED, allowZip64=True)
        os.chmod(path, 0o600)

    def add_text(self, name: str, text: bytes) -> None:
        self.add(name, io.BytesIO(text), deflate=True)

    def add(self, name: str, file, *, deflate: bool = False) -> None:
        """Copy an open binary file in under `name`."""
        entry = zipfile.ZipInfo(name, self._date)
        entry.compress_type = zipfile.ZIP_DEFLATED if deflate else zipfile.ZIP_STORED
        entry.external_attr = 0o644 << 16
        digest = hashlib.sha256()
        with self._zip.open(entry, "w", force_zip64=True) as out:
            while step := file.read(_STEP):
                digest.update(step)
                out.write(step)
        if name != SUMS:
            self._sums.append(f"{digest.hexdigest()}  {name}\n")

    def seal(self) -> None:
        """Add the list of digests, close the ZIP and sync it to disk."""
        self.add_text(SUMS, "".join(self._sums).encode("utf-8"))
        self._zip.close()
        with self.path.open("rb+") as file:
            os.fsync(file.fileno())

    def abandon(self) -> None:
        self._zip.close()


class Reader:
    """Reads one build. Nothing is unpacked but names that we would write, of the sizes and digests they claim."""

    def __init__(self, path: Path):
        self.path = path
        try:
            self._zip = zipfile.ZipFile(path)
        except _UNREADABLE:
            raise Damaged(f"{path.name} is not a ZIP file, or its end is missing.") from None
        try:
            self._look_through()
            self._sums = self._read_sums()
        except BaseException:
            self._zip.close()
            raise

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self._zip.close()

    @property
    def names(self) -> set[str]:
        return set(self._sums)

    @property
    def size(self) -> int:
        return sum(entry.file_size for entry in self._zip.infolist())

    def _look_through(self) -> None:
        entries = self._zip.infolist()
        names = [entry.filename for entry in entries]
        if BUILD not in names or SUMS not in names:
            raise Damaged(f"{self.path.name} is not a build saved by Strake Reckoner: it has no {BUILD} and {SUMS}.")
        if len(names) > MOST_FILES:
            raise Damaged(f"{self.path.name} holds {len(names)} files; a build has at most {MOST_FILES}.")
        if len(set(names)) != len(names):
            raise Damaged(f"{self.path.name} is damaged: it holds a file twice.")
        for entry in entries:
            _look_at(entry)
        if self.size > LARGEST_IN_ALL:
            raise Damaged(f"{self.path.name} would unpack to {self.size / 1024**3:,.0f} GB, which is too much.")

    def _read_sums(self) -> dict[str, str]:
        lines = self._whole(SUMS).decode("utf-8", "replace").splitlines()
        sums = {}
        for line in lines:
            if not re.fullmatch(r"[0-9a-f]{64}  .+", line) or line[66:] in sums:
                raise Damaged(f"{SUMS} in the file is damaged.")
            sums[line[66:]] = line[:64]
        if set(sums) != set(self._zip.namelist()) - {SUMS}:
            raise Damaged(f"{self.path.name} is damaged: its files are not those that {SUMS} lists.")
        return sums

    def text(self, name: str) -> bytes:
        """Return a whole text file whose digest is as listed."""
        found = self._whole(name)
        if hashlib.sha256(found).hexdigest() != self._sums[name]:
            raise _other(name)
        return found

    def copy_out(self, name: str, path: Path) -> None:
        """Write a file to `path`; what arrives is checked against the list as it is written."""
        digest = hashlib.sha256()
        with path.open("xb") as out:
            for step in self._steps(name):
                digest.update(step)
                out.write(step)
        if digest.hexdigest() != self._sums[name]:
            raise _other(name)

    def check_the_rest(self, seen: set[str]) -> None:
        """Read every file that nothing else reads, so that a damaged one is told."""
        for name in sorted(self.names - seen):
            digest = hashlib.sha256()
            for step in self._steps(name):
                digest.update(step)
            if digest.hexdigest() != self._sums[name]:
                raise _other(name)

    def _whole(self, name: str) -> bytes:
        return b"".join(self._steps(name))

    def _steps(self, name: str) -> Iterator[bytes]:
        left = self._zip.getinfo(name).file_size
        try:
            with self._zip.open(name) as file:
                while step := file.read(min(_STEP, left + 1)):
                    left -= len(step)
                    if left < 0:
                        raise Damaged(f"{name} is larger than the ZIP says.")
                    yield step
        except _UNREADABLE:
            raise Damaged(f"{name} in the file is damaged.") from None
        if left:
            raise Damaged(f"{name} is shorter than the ZIP says.")


def _other(name: str) -> Damaged:
    return Damaged(f"{name} is not as it was saved: its SHA-256 is another.")


def _look_at(entry: zipfile.ZipInfo) -> None:
    name = entry.filename
    if not _NAMES.fullmatch(name):
        raise Damaged(f"The file holds {name[:80]!r}, which no saved build holds.")
    if entry.external_attr >> 16 & 0o170000 not in (0, 0o100000):
        raise Damaged(f"{name} is a link and not a file.")
    if entry.flag_bits & 1:
        raise Damaged(f"{name} is locked with a password.")
    is_photograph = name.startswith("photographs/") and name != INDEX
    most = LARGEST_PHOTOGRAPH if is_photograph else LARGEST_TEXT
    if entry.file_size > most:
        raise Damaged(f"{name} is too large: {entry.file_size / _MEGABYTE:,.0f} MB, at most {most / _MEGABYTE:,.0f}.")
    if entry.file_size > SMALL and entry.file_size > MOST_GROWTH * max(entry.compress_size, 1):
        raise Damaged(f"{name} would grow more than {MOST_GROWTH} times when unpacked. It is not opened.")
