"""Restoring: into an empty log only, every row and byte, older versions brought along, newer ones refused."""

import signal
import subprocess
import sys
import time

import pytest

from buildlog.archive import database, opened, rows, schema
from buildlog.archive.bundle import Reader
from buildlog.archive.manifest import Manifest
from buildlog.archive.snapshot import NEVER_KEPT
from buildlog.models import PhotoRendition
from buildlog.photos import store
from tests.buildlog.archive.conftest import ROOT, environment_of, manage, python, table_of

NEWER = "tests.buildlog.archive.newer_settings"


def whole_dump(alias):
    """Every row of every table, but for what no backup keeps."""
    apps = schema.apps_at(schema.applied(alias))
    tables = rows.tables_with_models(apps)
    return {
        table: list(rows.read_rows(alias, model))
        for table, model in tables.items()
        if table not in NEVER_KEPT
    }


def is_sqlite():
    from django.db import connection

    return connection.vendor == "sqlite"


def test_restore_brings_back_every_row_and_every_byte(log, bundle, tmp_path):
    target = tmp_path / "fresh"

    done = manage("restore", bundle, data=target)

    assert done.returncode == 0, done.stderr
    assert "OK: " in done.stdout
    assert "3 photographs restored" in done.stdout
    with database.sqlite_at(target / "reckoner.sqlite3", "restored") as alias:
        assert whole_dump(alias) == whole_dump("default")
    for key in PhotoRendition.objects.values_list("key", flat=True):
        assert (target / "photos" / key).read_bytes() == store.path_of(key).read_bytes()
    assert (target / "link_key").read_bytes() == b"a key of thirty-two bytes, or so"
    assert (target / "link_key").stat().st_mode & 0o077 == 0


def test_log_only_started_may_be_restored_into_but_one_with_rows_never(sample_bundle, tmp_path):
    data = tmp_path / "one"
    manage("migrate", "-v0", data=data)

    first = manage("restore", sample_bundle, data=data)
    rows_before = table_of(data, "SELECT uuid FROM buildlog_photo")
    again = manage("restore", sample_bundle, data=data)

    assert (first.returncode, again.returncode) == (0, 2)
    assert "There is a log here already" in again.stderr
    assert "Traceback" not in again.stderr
    assert table_of(data, "SELECT uuid FROM buildlog_photo") == rows_before
    assert "12 files, all read whole" in manage("doctor", "--files", data=data).stdout


@pytest.mark.parametrize("command", ["verify", "restore"])
def test_damaged_backup_is_refused_in_one_sentence_and_changes_nothing(sample_bundle, tmp_path, command):
    content = bytearray(sample_bundle.read_bytes())
    content[len(content) // 2] ^= 1
    sample_bundle.write_bytes(content)

    done = manage(command, sample_bundle, data=tmp_path / "one")

    assert done.returncode == 2
    assert "log.zip is damaged: its bytes are not those that were written." in done.stderr
    assert "Traceback" not in done.stderr
    assert not (tmp_path / "one" / "photos").exists()


def test_backup_of_an_older_version_is_brought_to_the_newer_one(bare_log, tmp_path):
    from buildlog.actions.sessions import start_session
    from buildlog.archive.backup import make_backup
    from tests.buildlog.archive.conftest import NOW

    start_session(bare_log.build, person=bare_log.person, now=NOW, local_date=NOW.date())
    older = make_backup(tmp_path / "older.zip", now=NOW, say=lambda _: None).path

    done = manage("restore", older, data=tmp_path / "newer", settings=NEWER)

    assert done.returncode == 0, done.stderr
    assert table_of(tmp_path / "newer", "SELECT weather FROM buildlog_session") == [("not noted",)]
    assert table_of(tmp_path / "newer", "SELECT COUNT(*) FROM buildlog_strake") == [(5,)]


def test_backup_of_a_newer_version_is_refused_by_an_older_one(sample_bundle, tmp_path):
    manage("restore", sample_bundle, data=tmp_path / "newer", settings=NEWER)
    made = manage("backup", tmp_path / "newer.zip", data=tmp_path / "newer", settings=NEWER)

    done = manage("restore", tmp_path / "newer.zip", data=tmp_path / "older")

    assert made.returncode == 0, made.stderr
    assert done.returncode == 2
    assert "made by a newer version of Strake Reckoner (it knows 9999_weather)" in done.stderr


def test_serve_backs_an_older_log_up_before_it_changes_its_tables(sample_bundle, tmp_path):
    data = tmp_path / "old"
    manage("restore", sample_bundle, data=data)
    code = (
        "import django; django.setup(); from buildlog.site.upgrade import bring_up_to_date as up; up(print)"
    )

    done = python(code, data=data, settings=NEWER)

    kept = list((data / "backups").glob("before-upgrade-*.zip"))
    assert done.returncode == 0, done.stderr
    assert len(kept) == 1
    assert manage("verify", kept[0], data=tmp_path / "other").returncode == 0
    assert table_of(
        data, "SELECT COUNT(*) FROM pragma_table_info('buildlog_session') WHERE name = 'weather'"
    ) == [(1,)]


@pytest.mark.parametrize("after", [0.6, 1.2])
def test_restore_that_was_killed_leaves_an_empty_log_or_a_whole_one(sample_bundle, tmp_path, after):
    data = tmp_path / "one"
    command = [sys.executable, str(ROOT / "manage.py"), "restore", str(sample_bundle)]
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    killed = subprocess.Popen(command, env=environment_of(data), cwd=ROOT, **quiet)
    time.sleep(after)
    killed.send_signal(signal.SIGKILL)
    killed.wait()

    again = manage("restore", sample_bundle, data=data)

    if again.returncode != 0:
        assert "There is a log here already" in again.stderr
        manage("migrate", "-v0", data=data)
    assert table_of(data, "SELECT COUNT(*) FROM buildlog_photo") == [(4,)]
    assert "12 files, all read whole" in manage("doctor", "--files", data=data).stdout
    assert not list(data.glob(".restoring-*")) or again.returncode == 2


def test_rows_written_as_lines_come_back_the_same(log, tmp_path):
    """The form that a database server's backup has, here written from and read into SQLite."""
    (tmp_path / "rows").mkdir()
    steps = schema.applied("default")
    for table, model in rows.tables_with_models(schema.apps_at(steps)).items():
        rows.dump_table("default", model, tmp_path / "rows" / f"{table}.jsonl")
    photographs = database.photograph_names("default")
    manifest = Manifest("", "rows", steps, {}, dict.fromkeys(photographs), [])

    with opened.database_of(tmp_path, manifest) as alias:
        opened.look_through(alias, manifest)

        assert whole_dump(alias) == whole_dump("default")


def test_reader_gives_the_same_files_as_were_put_in(log, bundle, tmp_path):
    with Reader(bundle) as reader:
        reader.copy_all_out(tmp_path / "out", lambda _: None, part_of="photos/originals/")

    for photo in log.photos:
        key = store.key_of(photo.sha256)
        assert (tmp_path / "out" / "photos" / key).read_bytes() == store.path_of(key).read_bytes()
