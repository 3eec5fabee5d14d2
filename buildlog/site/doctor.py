"""What `manage.py doctor` looks at: what the running program says of itself, not what a file says."""

import hashlib
import sqlite3
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.core.checks import run_checks
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor

from buildlog.models import Photo, PhotoRendition
from buildlog.photos import store

from . import backups, disk
from .checks import live_pragmas, wrong_pragmas

WELL, WARNING, TROUBLE = "well", "warning", "trouble"
BACKUP_DAYS = 7
NAMED_AT_MOST = 5


@dataclass(frozen=True)
class Finding:
    """One thing that was looked at, how it stands, and the sentence for it."""

    topic: str
    state: str
    says: str


def examine(now: datetime, *, read_files: bool = False) -> list[Finding]:
    """Return every finding, in a fixed order; `read_files` reads each photograph whole."""
    looks: list[tuple[str, Callable[[], Iterable[Finding]]]] = [
        ("database", database),
        ("tables", migrations),
        ("settings", program),
        ("disk", lambda: [disk_room()]),
        ("photographs", lambda: photographs(read_files)),
        ("backup", lambda: [backup(now)]),
        ("address", lambda: [address()]),
    ]
    return [finding for topic, look in looks for finding in _looked_at(topic, look)]


def _looked_at(topic: str, look: Callable[[], Iterable[Finding]]) -> list[Finding]:
    """Make a finding of what cannot even be looked at; a doctor that falls over helps nobody."""
    try:
        return list(look())
    except (DatabaseError, OSError) as problem:
        said = (str(problem).strip().splitlines() or [type(problem).__name__])[0]
        return [Finding(topic, TROUBLE, f"This cannot be looked at: {said}.")]


def database() -> Iterator[Finding]:
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            durable = {
                name: _shown(cursor, name) for name in ("fsync", "synchronous_commit", "full_page_writes")
            }
        off = [name for name, value in durable.items() if value == "off"]
        if off:
            yield Finding(
                "database", TROUBLE, f"PostgreSQL runs with {', '.join(off)} off: a power cut loses saves."
            )
        else:
            yield Finding(
                "database", WELL, f"PostgreSQL {connection.pg_version // 10000} keeps what it acknowledges."
            )
        return
    found = live_pragmas()
    for sentence in (wrong := wrong_pragmas(found)):
        yield Finding("database", TROUBLE, sentence)
    if not wrong:
        told = ", ".join(f"{name} {value}" for name, value in found.items())
        yield Finding("database", WELL, f"SQLite as it must be: {told}.")
    yield sqlite_version(sqlite3.sqlite_version_info)
    yield integrity()


def _shown(cursor, name: str) -> str:
    cursor.execute(f"SHOW {name}")
    return cursor.fetchone()[0]


def sqlite_version(version: tuple[int, ...]) -> Finding:
    """Warn of the versions in which a checkpoint and a write at one instant can damage a WAL database.

    Versions 3.7.0 to 3.51.2 are in the range; 3.51.3 mended it, and 3.50.7 and 3.44.6 carry the same repair
    (release notes, read at second hand). A distribution may have mended an older one without saying so.
    """
    told = ".".join(str(part) for part in version)
    mended = version >= (3, 51, 3) or any(
        version[:2] == line[:2] and version >= line for line in ((3, 50, 7), (3, 44, 6))
    )
    if mended:
        return Finding("sqlite version", WELL, f"SQLite {told} has the repair of its write-ahead log.")
    return Finding(
        "sqlite version",
        WARNING,
        f"SQLite {told} comes before the repair of a rare fault in its write-ahead log (3.51.3). "
        "It was never seen here; keep backups, and take the newer version when your system has it.",
    )


def integrity() -> Finding:
    with connection.cursor() as cursor:
        said = cursor.execute("PRAGMA quick_check(1)").fetchone()[0]
        strays = cursor.execute("PRAGMA foreign_key_check").fetchall()
    if said != "ok":
        return Finding("records", TROUBLE, f"The database is damaged: {said}. Restore the last backup.")
    if strays:
        return Finding(
            "records", TROUBLE, f"{len(strays)} rows point at rows that are gone. Restore the last backup."
        )
    return Finding("records", WELL, "The database is whole.")


def migrations() -> Iterator[Finding]:
    executor = MigrationExecutor(connection)
    missing = executor.migration_plan(executor.loader.graph.leaf_nodes())
    if missing:
        yield Finding(
            "tables", TROUBLE, f"The tables are {len(missing)} steps behind this version: run serve once."
        )
    else:
        yield Finding("tables", WELL, "The tables are those of this version.")


def program() -> Iterator[Finding]:
    """Pass on what the checks at the start of the server would say."""
    for each in run_checks():
        if each.is_serious() and not each.is_silenced():
            yield Finding("settings", TROUBLE, str(each.msg))


def disk_room() -> Finding:
    free, needed = disk.free_bytes(), disk.needed_bytes()
    told = f"{free // 1_000_000:,} MB free in {settings.DATA_DIR}, {needed // 1_000_000:,} MB must stay free."
    return Finding("disk", WELL if free >= needed else TROUBLE, told)


def photographs(read_files: bool) -> Iterator[Finding]:
    """Say of every row whether its file is there and is the file that was sent."""
    gone: list[str] = []
    changed: list[str] = []
    count = 0
    for key, size, sha256 in _files_of_rows():
        count += 1
        path = store.path_of(key)
        if not path.exists():
            gone.append(key)
        elif path.stat().st_size != size or (read_files and _digest(path) != sha256):
            changed.append(key)
    if gone:
        yield Finding("photographs", TROUBLE, f"{len(gone)} of {count} files are missing: {_some(gone)}.")
    if changed:
        yield Finding(
            "photographs", TROUBLE, f"{len(changed)} of {count} files are not as sent: {_some(changed)}."
        )
    if not gone and not changed:
        how = "read whole" if read_files else "there, with the right size"
        yield Finding("photographs", WELL, f"{count} files, all {how}.")


def _files_of_rows() -> Iterator[tuple[str, int, str]]:
    # A refused photograph's original is swept away on purpose, a month later.
    kept = Photo.objects.exclude(state=Photo.State.REFUSED)
    for sha256, size in kept.values_list("sha256", "file_bytes").iterator():
        yield store.key_of(sha256), size, sha256
    yield from PhotoRendition.objects.values_list("key", "file_bytes", "sha256").iterator()


def _digest(path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _some(keys: list[str]) -> str:
    more = len(keys) - NAMED_AT_MOST
    return ", ".join(keys[:NAMED_AT_MOST]) + (f" and {more} more" if more > 0 else "")


def backup(now: datetime) -> Finding:
    last = backups.last_verified_at()
    if last is None:
        return Finding("backup", WARNING, "No verified backup yet: python3 manage.py backup FILE")
    age = now - last
    told = f"The last verified backup was made {last:%Y-%m-%d %H:%M} UTC"
    if age > timedelta(days=BACKUP_DAYS):
        return Finding(
            "backup", WARNING, f"{told}, {age.days} days ago. Make one: python3 manage.py backup FILE"
        )
    return Finding("backup", WELL, f"{told}.")


def address() -> Finding:
    if settings.IS_HTTPS:
        return Finding("address", WELL, f"{settings.SITE_URL}: cookies are sent over https only.")
    return Finding(
        "address",
        WELL,
        f"{settings.SITE_URL}: over http anybody on the same network can read along, and a phone out "
        "of reach cannot open the pages again. Keep it inside your own network, or set SITE_URL to https.",
    )
