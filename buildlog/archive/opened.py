"""A backup laid out in a folder, its database opened: what verification counts and restoring reads."""

from contextlib import contextmanager
from pathlib import Path

from django.db import DatabaseError, connections

from buildlog.archive import database, rows, schema
from buildlog.archive.bundle import DATABASE
from buildlog.archive.manifest import Manifest
from buildlog.archive.snapshot import NEVER_KEPT
from buildlog.archive.trouble import Damaged


@contextmanager
def database_of(folder: Path, manifest: Manifest):
    """Open the backup's database under a name of its own; rows are first loaded into a scratch file."""
    path = folder / DATABASE
    is_rows = DATABASE not in manifest.members
    path = folder / "loaded.sqlite3" if is_rows else path
    with database.sqlite_at(path, "backup") as alias:
        if is_rows:
            load_rows(alias, folder, manifest)
        yield alias


def load_rows(alias: str, folder: Path, manifest: Manifest) -> None:
    """Build the tables that the backup had and put its rows in."""
    schema.bring_to(alias, manifest.migrations)

    def rows_of(table, model):
        path = folder / "rows" / f"{table}.jsonl"
        if table in NEVER_KEPT or not path.exists():
            return ()
        return rows.dumped_rows(path, model)

    rows.load(alias, schema.apps_at(manifest.migrations), rows_of)


def look_through(alias: str, manifest: Manifest) -> None:
    """Raise Damaged unless the opened database is whole, has every row counted, and has every file it
    names.
    """
    try:
        _is_whole(alias)
        found = database.count_rows(alias)
        needed = database.photograph_names(alias)
    except DatabaseError:
        raise Damaged("The database in the backup is damaged.") from None
    counted = {table: found.get(table) for table in manifest.counts}
    if counted != manifest.counts:
        table = next(table for table in counted if counted[table] != manifest.counts[table])
        raise Damaged(
            f"The backup's table {table} has {counted[table]} rows; "
            f"{manifest.counts[table]} were counted when it was made."
        )
    absent = sorted(needed - manifest.members.keys() - set(manifest.missing))
    if absent:
        raise Damaged(f"{len(absent)} photographs have a row in the backup and no file, the first {absent[0]}.")


def _is_whole(alias: str) -> None:
    with connections[alias].cursor() as cursor:
        cursor.execute("PRAGMA integrity_check")
        said = cursor.fetchone()[0]
        cursor.execute("PRAGMA foreign_key_check")
        loose = cursor.fetchone()
    if said != "ok" or loose:
        raise Damaged("The database in the backup is damaged.")
