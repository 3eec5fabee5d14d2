"""Make a backup while the server runs: the rows of one moment first, then the files they name."""

import io
import os
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from buildlog.archive import database, keys, opened, room, schema, snapshot
from buildlog.archive.bundle import DATABASE, MANIFEST, Writer
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
    names = snapshot.take(work)
    manifest = _empty_manifest(work, names, now)
    with opened.database_of(work, manifest) as alias:
        counts = _counts(alias)
        needed = database.photograph_names(alias)
        steps = schema.applied(alias)
    room.require(work, 2 * _size_of(needed) + 3 * sum((work / name).stat().st_size for name in names))
    writer = Writer(draft, now.timetuple()[:6])
    try:
        _add_plain(writer, work, names, now)
        missing = _add_photographs(writer, needed, say)
        told = Manifest(now.isoformat(), manifest.engine, steps, counts, writer.members, missing)
        members = dict(writer.members)
        writer.add(MANIFEST, io.BytesIO(told.to_json().encode("utf-8")), deflate=True)
        writer.seal()
    except BaseException:
        writer.abandon()
        raise
    for name in names:
        (work / name).unlink()
    return Manifest(told.made_at, told.engine, steps, counts, members, missing)


def _empty_manifest(work: Path, names: list[str], now: datetime) -> Manifest:
    """Return what is known before anything was counted: enough to open the copy."""
    steps = [] if DATABASE in names else schema.applied("default")
    engine = "sqlite" if DATABASE in names else "rows"
    return Manifest(now.isoformat(), engine, steps, {}, dict.fromkeys(names), [])


def _counts(alias: str) -> dict[str, int]:
    counts = database.count_rows(alias)
    return {table: count for table, count in counts.items() if not table.startswith("sqlite_")}


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
