import sqlite3
import subprocess
import sys

import pytest
from django.core.checks import run_checks
from django.db import connection

from buildlog.site import checks, environment
from buildlog.site.doctor import WARNING, WELL, sqlite_version

AS_WANTED = checks.WANTED_PRAGMAS | {"transaction_mode": "IMMEDIATE"}


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("journal_mode", "delete"),
        ("synchronous", 1),
        ("foreign_keys", 0),
        ("busy_timeout", 5000),
        ("transaction_mode", None),
    ],
)
def test_setting_that_does_not_hold_is_named(name, value):
    assert checks.wrong_pragmas(AS_WANTED) == []

    said = checks.wrong_pragmas(AS_WANTED | {name: value})

    assert len(said) == 1
    assert f"SQLite's {name} is {value!r}" in said[0]


@pytest.mark.django_db
def test_settings_are_read_from_the_live_connection():
    if connection.vendor != "sqlite":
        assert checks.live_pragmas() == {}
        return

    # The tests write with synchronous off; every other value is as it is in use.
    assert checks.live_pragmas() == AS_WANTED | {"synchronous": 0}


@pytest.mark.django_db
def test_start_is_refused_when_a_live_connection_has_lost_a_setting():
    if connection.vendor != "sqlite":
        pytest.skip("SQLite's settings")
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA busy_timeout = 5000")
    try:
        found = [each.id for each in run_checks(databases=["default"])]
    finally:
        connection.close()

    assert "buildlog.E001" in found


def test_settings_in_use_hold_on_a_database_just_made(tmp_path):
    """The tests' own settings differ in one pragma, so the real ones are read back in another process."""
    script = (
        "import django; django.setup()\n"
        "from buildlog.site.checks import live_pragmas, wrong_pragmas\n"
        "found = live_pragmas(); wrong = wrong_pragmas(found)\n"
        "print(found); assert found; assert not wrong, wrong"
    )
    environment_ = {"DATA_DIR": str(tmp_path), "DJANGO_SETTINGS_MODULE": "buildlog.settings", "PATH": ""}

    done = subprocess.run(
        [sys.executable, "-c", script], env=environment_, capture_output=True, text=True, check=False
    )

    assert done.returncode == 0, done.stderr
    assert "'synchronous': 2" in done.stdout


def test_pragmas_of_the_environment_hold_for_a_second_connection_to_the_same_file(tmp_path):
    path = tmp_path / "log.sqlite3"
    for _ in range(2):
        with sqlite3.connect(path, timeout=environment.SQLITE_TIMEOUT_SECONDS) as plain:
            plain.executescript(environment.SQLITE_PRAGMAS)
            assert plain.execute("PRAGMA synchronous").fetchone() == (2,)
        plain.close()

    with sqlite3.connect(path) as later:
        # WAL is kept in the file itself; whoever opens it later finds it so.
        assert later.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    later.close()


@pytest.mark.parametrize(
    ("version", "state"),
    [
        ((3, 40, 1), WARNING),
        ((3, 44, 5), WARNING),
        ((3, 44, 6), WELL),
        ((3, 45, 0), WARNING),
        ((3, 50, 6), WARNING),
        ((3, 50, 7), WELL),
        ((3, 51, 2), WARNING),
        ((3, 51, 3), WELL),
        ((3, 53, 4), WELL),
        ((4, 0, 0), WELL),
    ],
)
def test_sqlite_version_before_the_repair_is_warned_of(version, state):
    """Range of versions: release notes of 3.51.3 read at second hand; the back-ports from memory."""
    assert sqlite_version(version).state == state
