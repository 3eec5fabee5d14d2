"""Put a backup back, into a log that is empty."""

import os
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connections

from buildlog.archive import database, keys, opened, room, rows, schema
from buildlog.archive.bundle import DATABASE, Reader, check_seal
from buildlog.archive.manifest import Manifest
from buildlog.archive.trouble import ArchiveTrouble, Damaged
from buildlog.photos import store

Say = Callable[[str], None]
_SCRATCH = ".restoring-"

# Rows that Django or a first start make by themselves; a log with nothing else in it is empty.
_OWN = {
    "django_migrations",
    "django_content_type",
    "auth_permission",
    "django_session",
    "buildlog_onetimelink",
    "buildlog_throttle",
    "buildlog_job",
}


def restore(path: Path, say: Say) -> Manifest:
    """Restore a backup into the empty data folder and database of the settings, and bring it to this version.

    The rows come last: a restore that was broken off leaves an empty log, and may be started again.
    """
    if not path.is_file():
        raise Damaged(f"{path} is not a file.")
    _refuse_unless_empty()
    say("Reading every byte")
    check_seal(path)
    with Reader(path) as reader:
        manifest = reader.manifest
        schema.refuse_newer(manifest.migrations)
        data = Path(settings.DATA_DIR)
        room.require(data, manifest.size)
        _clear_broken_off(data)
        with tempfile.TemporaryDirectory(dir=data, prefix=_SCRATCH) as name:
            folder = Path(name)
            say(f"Laying out {manifest.photographs} photographs and {manifest.rows} rows")
            reader.copy_all_out(folder, say)
            with opened.database_of(folder, manifest) as alias:
                opened.look_through(alias, manifest)
                rows_only = connections[DEFAULT_DB_ALIAS].vendor != "sqlite"
                _put_photographs_back(folder, manifest)
                keys.put_back(folder)
                if rows_only:
                    _load_or_say(alias)
            if not rows_only:
                _put_file_in_place(folder, manifest)
    say("Bringing it to this version")
    call_command("migrate", interactive=False, verbosity=0)
    _count_again(manifest)
    return manifest


def _clear_broken_off(data: Path) -> None:
    """Take away what a killed restore left; the caller holds the data folder, so none is under way."""
    for left in data.glob(f"{_SCRATCH}*"):
        shutil.rmtree(left, ignore_errors=True)


def _refuse_unless_empty() -> None:
    tables = set(database.tables_of(DEFAULT_DB_ALIAS))
    filled = [table for table, count in database.count_rows(DEFAULT_DB_ALIAS).items() if count]
    strange = sorted(set(filled) & tables - _OWN)
    if strange:
        raise ArchiveTrouble(
            "There is a log here already, and a restore never writes over one. "
            f"Choose an empty folder with DATA_DIR, or an empty database ({strange[0]} has rows)."
        )


def _put_photographs_back(folder: Path, manifest: Manifest) -> None:
    for name in manifest.members:
        if name.startswith("photos/"):
            target = store.path_of(name.removeprefix("photos/"))
            target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            os.replace(folder / name, target)
    # One sync for all of them: a sync for each of ten thousand files would take minutes.
    if hasattr(os, "sync"):
        os.sync()


def _load_or_say(alias: str) -> None:
    try:
        _load_into_default(alias)
    except DatabaseError as problem:
        said = str(problem).strip().splitlines()[0]
        raise ArchiveTrouble(f"The rows of the backup do not fit the tables they were made for: {said}.") from None


def _load_into_default(alias: str) -> None:
    """Carry the rows from the opened backup into a database server."""
    steps = schema.applied(alias)
    apps = schema.apps_at(steps)
    _drop_all_tables()
    schema.bring_to(DEFAULT_DB_ALIAS, steps)
    rows.load(DEFAULT_DB_ALIAS, apps, lambda table, model: rows.read_rows(alias, model))


def _drop_all_tables() -> None:
    connection = connections[DEFAULT_DB_ALIAS]
    with connection.cursor() as cursor:
        for table in database.tables_of(DEFAULT_DB_ALIAS):
            cursor.execute(f"DROP TABLE {connection.ops.quote_name(table)} CASCADE")


def _put_file_in_place(folder: Path, manifest: Manifest) -> None:
    source = folder / (DATABASE if DATABASE in manifest.members else "loaded.sqlite3")
    target = Path(connections[DEFAULT_DB_ALIAS].settings_dict["NAME"])
    connections[DEFAULT_DB_ALIAS].close()
    with source.open("rb") as file:
        os.fsync(file.fileno())
    for suffix in ("-wal", "-shm"):
        target.with_name(target.name + suffix).unlink(missing_ok=True)
    os.replace(source, target)
    store.sync_folder(target.parent)


def _count_again(manifest: Manifest) -> None:
    found = database.count_rows(DEFAULT_DB_ALIAS)
    short = [table for table, count in manifest.counts.items() if found.get(table, count) < count]
    if short:
        raise Damaged(f"After the restore the table {short[0]} has fewer rows than the backup.")
