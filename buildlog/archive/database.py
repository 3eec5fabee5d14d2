"""A second database beside the default one: a snapshot looked into, a scratch one loaded for proof."""

import copy
from contextlib import contextmanager
from pathlib import Path

from django.db import DEFAULT_DB_ALIAS, connections

from buildlog.photos import store


@contextmanager
def sqlite_at(path: Path, alias: str):
    """Open a SQLite file under a name of its own, and let go of it afterwards."""
    with _opened(alias, _sqlite(path)):
        yield alias


@contextmanager
def second_connection(alias: str):
    """Open the default database once more, so that a long look is apart from whatever else goes on."""
    with _opened(alias, copy.deepcopy(connections.databases[DEFAULT_DB_ALIAS])):
        yield alias


@contextmanager
def _opened(alias: str, told: dict):
    connections.databases[alias] = told | {"CONN_MAX_AGE": 0}
    try:
        yield
    finally:
        connections[alias].close()
        del connections[alias]
        del connections.databases[alias]


def _sqlite(path: Path) -> dict:
    told = copy.deepcopy(connections.databases[DEFAULT_DB_ALIAS])
    # Such a file is thrown away, or synced whole when it is put in place: no step of it need reach the disk.
    options = {"timeout": 20, "init_command": "PRAGMA synchronous=OFF;PRAGMA journal_mode=MEMORY;"}
    plain = {"ENGINE": "django.db.backends.sqlite3", "NAME": str(path), "OPTIONS": options}
    return told | plain | {"USER": "", "PASSWORD": "", "HOST": "", "PORT": "", "CONN_HEALTH_CHECKS": False}


def tables_of(alias: str) -> list[str]:
    """Return the names of all tables, in order."""
    with connections[alias].cursor() as cursor:
        return sorted(connections[alias].introspection.table_names(cursor))


def count_rows(alias: str) -> dict[str, int]:
    """Return how many rows each table has."""
    quote = connections[alias].ops.quote_name
    counts = {}
    with connections[alias].cursor() as cursor:
        for table in tables_of(alias):
            cursor.execute(f"SELECT COUNT(*) FROM {quote(table)}")  # noqa: S608
            counts[table] = cursor.fetchone()[0]
    return counts


def photograph_names(alias: str) -> set[str]:
    """Return the files that rows need. The original of a refused photograph is not kept."""
    if "buildlog_photo" not in tables_of(alias):
        return set()
    with connections[alias].cursor() as cursor:
        cursor.execute("SELECT sha256 FROM buildlog_photo WHERE state <> 'refused'")
        originals = {store.key_of(sha256) for (sha256,) in cursor.fetchall()}
        cursor.execute("SELECT key FROM buildlog_photorendition")
        renditions = {key for (key,) in cursor.fetchall()}
    return {f"photos/{key}" for key in originals | renditions}
