"""One moment of the database, copied while the server goes on writing."""

import os
import sqlite3
from dataclasses import dataclass
from pathlib import Path

from django.db import DEFAULT_DB_ALIAS, connections, transaction

from buildlog.archive import database, rows, schema
from buildlog.archive.bundle import DATABASE

# Signed-in browsers and counters: a backup in a drawer must not open a live site, and nobody misses them.
NEVER_KEPT = ("django_session", "buildlog_signedinphone", "buildlog_throttle")


@dataclass(frozen=True)
class Taken:
    """A copy of the database: its files, and what was counted in that same moment."""

    engine: str
    names: list[str]
    steps: schema.Steps
    counts: dict[str, int]
    photographs: set[str]


def take(folder: Path) -> Taken:
    """Copy the default database into `folder`."""
    if connections[DEFAULT_DB_ALIAS].vendor == "sqlite":
        return _take_sqlite(folder)
    return _take_rows(folder)


def _take_sqlite(folder: Path) -> Taken:
    # A connection of its own: VACUUM INTO cannot run inside a transaction, and reads one moment of the
    # database in WAL mode while writers go on. It leaves one clean file, but does not sync it.
    path = folder / DATABASE
    source = sqlite3.connect(str(connections[DEFAULT_DB_ALIAS].settings_dict["NAME"]), timeout=60)
    try:
        source.execute("VACUUM INTO ?", [str(path)])
    finally:
        source.close()
    _forget(path)
    with path.open("rb") as file:
        os.fsync(file.fileno())
    os.chmod(path, 0o600)
    with database.sqlite_at(path, "snapshot") as alias:
        counts = database.count_rows(alias)
        return Taken("sqlite", [DATABASE], schema.applied(alias), counts, database.photograph_names(alias))


def _forget(path: Path) -> None:
    copied = sqlite3.connect(path)
    try:
        copied.execute("PRAGMA secure_delete=ON")
        there = {name for (name,) in copied.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        for table in there.intersection(NEVER_KEPT):
            copied.execute(f"DELETE FROM {table}")  # noqa: S608
        copied.commit()
    finally:
        copied.close()


def _take_rows(folder: Path) -> Taken:
    """Write every table as lines of JSON, all read in one transaction that sees one moment."""
    (folder / "rows").mkdir()
    counts = {}
    with database.second_connection("snapshot") as alias, transaction.atomic(using=alias):
        with connections[alias].cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        steps = schema.applied(alias)
        for table, model in rows.tables_with_models(schema.apps_at(steps)).items():
            if table not in NEVER_KEPT:
                counts[table] = rows.dump_table(alias, model, folder / "rows" / f"{table}.jsonl")
        photographs = database.photograph_names(alias)
    return Taken("rows", [f"rows/{table}.jsonl" for table in counts], steps, counts, photographs)
