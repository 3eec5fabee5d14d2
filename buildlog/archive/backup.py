"""Make a backup while the server runs: the rows of one moment first, then the files they name."""

import io
import os
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from buildlog.archive import keys, room, snapshot
from buildlog.archive.bundle import MANIFEST, Writer
from buildlog.archive.manifest import Manifest
from buildlog.archive.trouble import ArchiveTrouble
from buildlog.archive.verify import verify
from buildlog.photos import store
from buildlog.site.backups import remember_verified

Say = Callable[[str], None]

_README = """This is a backup of Strake Reckoner, made {made_at}.

To restore it, install the program on a machine, leave its data folder empty, and run
    python3 manage.py restore THIS-FILE
To look whether it is whole:
    python3 manage.py verify THIS-FILE

The photographs lie in photos/originals under their SHA-256, as the cameras made them: they may hold the place
where they were taken. The link key in keys/ opens the club pages. Keep this file where you keep your papers.
"""


@dataclass(frozen=True)
class Report:
    """What was backed up and proved."""

    path: Path
    rows: int
    photographs: int
    size: int
    missing: tuple[str, ...]


def make_backup(path: Path, *, now: datetime, say: Say) -> Report:
    """Write one verified backup to `path`. It appears there only when it was restored, opened and counted."""
    _refuse_bad_place(path)
    with tempfile.TemporaryDirectory(dir=path.parent, prefix=f".{path.name[:60]}-") as name:
        work = Path(name)
        draft = work / path.name
        manifest = _write(draft, work, now, say)
        proved = verify(draft, say, scratch_in=work)
        if proved != manifest:
            raise ArchiveTrouble("The backup does not read as it was written. It was thrown away.")
        size = draft.stat().st_size
        os.replace(draft, path)
        store.sync_folder(path.parent)
    remember_verified(path, now)
    return Report(path, manifest.rows, manifest.photographs, size, tuple(manifest.missing))


def _refuse_bad_place(path: Path) -> None:
    if path.exists():
        raise ArchiveTrouble(f"{path} is there already. Choose another name; nothing is written over.")
    if not path.parent.is_dir() or not os.access(path.parent, os.W_OK):
        raise ArchiveTrouble(f"The folder {path.parent} is not there, or cannot be written to.")


def _write(draft: Path, work: Path, now: datetime, say: Say) -> Manifest:
    say("Copying the rows")
    taken = snapshot.take(work)
    copies = [work / name for name in taken.names]
    room.require(work, 2 * _size_of(taken.photographs) + 3 * sum(path.stat().st_size for path in copies))
    writer = Writer(draft, now.timetuple()[:6])
    try:
        _add_plain(writer, work, taken.names, now)
        missing = _add_photographs(writer, taken.photographs, say)
        members = dict(writer.members)
        told = Manifest(now.isoformat(), taken.engine, taken.steps, taken.counts, members, missing)
        writer.add(MANIFEST, io.BytesIO(told.to_json().encode("utf-8")), deflate=True)
        writer.seal()
    except BaseException:
        writer.abandon()
        raise
    for path in copies:
        path.unlink()
    return told


def _size_of(names: set[str]) -> int:
    paths = (store.path_of(name.removeprefix("photos/")) for name in names)
    return sum(path.stat().st_size for path in paths if path.exists())


def _add_plain(writer: Writer, work: Path, names: list[str], now: datetime) -> None:
    writer.add("README.txt", io.BytesIO(_README.format(made_at=f"{now:%Y-%m-%d %H:%M} UTC").encode("utf-8")))
    for name in names:
        with (work / name).open("rb") as file:
            writer.add(name, file, deflate=True)
    for name, path in keys.present().items():
        with path.open("rb") as file:
            writer.add(name, file)


def _add_photographs(writer: Writer, needed: set[str], say: Say) -> list[str]:
    """Copy the files in and return those that are not there as they were sent."""
    missing = []
    for place, name in enumerate(sorted(needed), 1):
        if place % 100 == 0:
            say(f"Copying photographs: {place} of {len(needed)} files")
        if not _add_if_whole(writer, name, store.path_of(name.removeprefix("photos/"))):
            missing.append(name)
    return missing


def _add_if_whole(writer: Writer, name: str, path: Path) -> bool:
    try:
        with path.open("rb") as file:
            if store.digest_of(file) != path.name:
                return False
            file.seek(0)
            writer.add(name, file)
    except FileNotFoundError:
        return False
    return True
