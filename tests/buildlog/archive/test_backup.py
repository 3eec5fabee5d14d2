"""What a backup holds, what it must not hold, and that it takes one moment of a log in use."""

import io
import json
import os
import stat
import tempfile
import threading
import time
import uuid
import zipfile
from pathlib import Path

import pytest
from django.db import connections

from buildlog.actions.backups import start_backup
from buildlog.actions.readings import record_reading
from buildlog.archive import opened, upkeep
from buildlog.archive.backup import make_backup
from buildlog.archive.bundle import Reader, Writer
from buildlog.archive.trouble import ArchiveTrouble
from buildlog.archive.verify import verify
from buildlog.jobs import worker
from buildlog.models import Account, Job, Photo, PhotoRendition, Reading
from buildlog.photos import store
from buildlog.site import backups
from tests.buildlog.archive.conftest import NOW, send_photo


def quiet(sentence):
    pass


def test_backup_tells_what_it_counted_and_is_remembered(log, tmp_path):
    told = []

    report = make_backup(tmp_path / "log.zip", now=NOW, say=told.append)

    assert (report.photographs, report.missing) == (3, ())
    # It is closed to other users of the machine.
    assert stat.S_IMODE(report.path.stat().st_mode) == 0o600
    assert report.rows > Reading.objects.count() + Photo.objects.count()
    assert report.size == (tmp_path / "log.zip").stat().st_size
    assert backups.last_verified_at() == NOW
    assert told[0] == "Copying the rows"
    assert told[-1] == "Opening it and counting the rows"


def test_backup_holds_every_file_that_a_row_names_byte_for_byte(log, bundle):
    named = {store.key_of(photo.sha256) for photo in Photo.objects.exclude(state="refused")}
    named |= set(PhotoRendition.objects.values_list("key", flat=True))

    with zipfile.ZipFile(bundle) as inner:
        inside = {
            name.removeprefix("photos/"): inner.read(name) for name in inner.namelist() if "photos/" in name
        }

    assert inside.keys() == named
    assert len(named) == 9
    assert all(content == store.path_of(key).read_bytes() for key, content in inside.items())


def test_backup_can_be_read_without_the_program(sample_bundle):
    with zipfile.ZipFile(sample_bundle) as inner:
        words = inner.read("README.txt").decode()
        told = json.loads(inner.read("manifest.json"))

        assert inner.testzip() is None
    assert "python3 manage.py restore" in words
    assert told["counts"]["buildlog_photo"] == 4
    assert ["buildlog", "0001_initial"] in told["migrations"]


def test_backup_brings_the_link_key_and_leaves_the_secret_key(sample_bundle):
    with zipfile.ZipFile(sample_bundle) as inner:
        assert inner.read("keys/link_key") == b"a key of thirty-two bytes, or so"
        assert "keys/secret_key" not in inner.namelist()


def test_backup_opens_no_live_session(bare_log, owner, client_of, tmp_path):
    browser = client_of(owner)
    key = browser.session.session_key

    path = make_backup(tmp_path / "log.zip", now=NOW, say=quiet).path

    with zipfile.ZipFile(path) as inner:
        names = [name for name in inner.namelist() if not name.startswith("photos/")]
        assert not [name for name in names if key.encode() in inner.read(name)]


def test_backup_writes_over_nothing(bare_log, tmp_path):
    (tmp_path / "log.zip").write_bytes(b"an older backup")

    with pytest.raises(ArchiveTrouble, match="is there already"):
        make_backup(tmp_path / "log.zip", now=NOW, say=quiet)

    assert (tmp_path / "log.zip").read_bytes() == b"an older backup"


def test_backup_into_a_folder_that_is_not_there_is_refused(bare_log, tmp_path):
    with pytest.raises(ArchiveTrouble, match="is not there"):
        make_backup(tmp_path / "nowhere" / "log.zip", now=NOW, say=quiet)


def test_backup_says_which_photograph_was_missing_and_still_saves_the_rest(log, tmp_path):
    gone, spoiled = (store.key_of(photo.sha256) for photo in log.photos[:2])
    store.path_of(gone).unlink()
    store.path_of(spoiled).write_bytes(b"")

    report = make_backup(tmp_path / "log.zip", now=NOW, say=quiet)

    assert set(report.missing) == {f"photos/{gone}", f"photos/{spoiled}"}
    assert verify(tmp_path / "log.zip", quiet).photographs == 1


def test_backup_that_cannot_be_verified_never_appears(bare_log, tmp_path, monkeypatch):
    from buildlog.archive import backup as making

    def spoil(path, say, scratch_in):
        raise ArchiveTrouble("it does not read back")

    monkeypatch.setattr(making, "verify", spoil)

    with pytest.raises(ArchiveTrouble, match="does not read back"):
        make_backup(tmp_path / "log.zip", now=NOW, say=quiet)

    assert backups.last_verified_at() is None
    assert [path.name for path in tmp_path.iterdir()] == ["data"]


def test_backup_without_room_is_told_and_leaves_nothing(bare_log, tmp_path, monkeypatch):
    from buildlog.archive import room

    monkeypatch.setattr(room.shutil, "disk_usage", lambda _: room.shutil._ntuple_diskusage(100, 99, 1))

    with pytest.raises(ArchiveTrouble, match="too little room"):
        make_backup(tmp_path / "log.zip", now=NOW, say=quiet)

    assert [path.name for path in tmp_path.iterdir()] == ["data"]


def test_backup_while_others_write_and_delete_holds_all_that_was_acknowledged(log, tmp_path):
    acknowledged, stop, failures = [], threading.Event(), []

    def write(number):
        try:
            while not stop.wait(0.05):
                reading, _ = record_reading(
                    log.build, client_uuid=uuid.uuid4(), now=NOW, kind="width", opening=log.opening,
                    strake=log.strakes["1"], station=log.stations[0], value_nm=5_000_000, typed="5",
                    unit="mm", person=log.person, instrument=log.caliper,
                )  # fmt: skip
                acknowledged.append(reading.client_uuid)
                send_photo(log, number * 1000 + len(acknowledged))
        except Exception as trouble:
            failures.append(trouble)
        finally:
            connections.close_all()

    def delete():
        try:
            while not stop.wait(0.02):
                photo = Photo.objects.filter(state="received").order_by("?").first()
                if photo:
                    photo.marks.all().delete()
                    photo.delete()
        except Exception as trouble:
            failures.append(trouble)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=write, args=(n,)) for n in range(4)] + [
        threading.Thread(target=delete)
    ]
    for thread in threads:
        thread.start()
    try:
        for number in range(2):
            while len(acknowledged) < 12 * (number + 1) and not failures:
                time.sleep(0.02)
            before = list(acknowledged)
            report = make_backup(tmp_path / f"{number}.zip", now=NOW, say=quiet)
            assert report.missing == ()
            assert set(before) <= readings_in(report.path, tmp_path)
    finally:
        stop.set()
        for thread in threads:
            thread.join()

    assert failures == []
    assert len(acknowledged) > 20


def readings_in(path, folder):
    """The client uuids of the readings in a backup, whichever form its rows have."""
    with tempfile.TemporaryDirectory(dir=folder) as name, Reader(path) as reader:
        reader.copy_all_out(Path(name), quiet)
        with opened.database_of(Path(name), reader.manifest) as alias:
            return set(Reading.objects.using(alias).values_list("client_uuid", flat=True))


def test_button_makes_a_job_whose_backup_can_be_handed_out(bare_log, owner, clock):
    job = start_backup(owner, now=clock())

    assert start_backup(owner, now=clock()) == job
    worker.run_pending()

    job.refresh_from_db()
    path = upkeep.file_of(job.result["file"])
    assert job.state == Job.State.DONE
    assert job.result["photographs"] == 0
    assert job.result["bytes"] == path.stat().st_size
    assert verify(path, quiet).rows == job.result["rows"]


def test_oldest_kept_backups_are_let_go(bare_log, owner, clock, monkeypatch):
    monkeypatch.setattr(upkeep, "KEPT", 1)
    for _ in range(2):
        start_backup(owner, now=clock.forward(days=1))
        worker.run_pending()

    names = [job.result["file"] for job in Job.objects.filter(kind="backup").order_by("pk")]
    assert [upkeep.file_of(name) is not None for name in names] == [False, True]


def test_what_a_killed_backup_left_is_taken_away_a_day_later(bare_log, owner, clock):
    for name, hours in ((".backup-old", 25), (".backup-young", 23)):
        left = upkeep.folder() / name
        left.mkdir(parents=True)
        then = clock().timestamp() - hours * 3600
        os.utime(left, (then, then))

    upkeep.make_asked_backup(now=clock(), say=quiet)

    assert [path.name for path in upkeep.folder().glob(".*")] == [".backup-young"]


@pytest.mark.parametrize("name", ["../reckoner.sqlite3", "/etc/passwd", "", "none.zip", ".."])
def test_only_kept_backups_are_handed_out(own_data, name):
    (own_data / "reckoner.sqlite3").write_bytes(b"x")

    assert upkeep.file_of(name) is None


def test_before_a_migration_an_existing_log_is_backed_up(bare_log, own_data):
    from buildlog.archive import before_migration

    told = []
    path = before_migration(told.append)

    assert verify(path, quiet).counts["buildlog_build"] == 1
    assert path.parent == own_data / "backups"
    assert told[-1] == f"Backup made and verified: {path}"


@pytest.mark.django_db(transaction=True)
def test_before_the_first_migration_there_is_nothing_to_back_up(own_data):
    from buildlog.archive import before_migration

    assert not Account.objects.exists()
    assert before_migration(quiet) is None
    assert list(own_data.iterdir()) == []


def test_writer_members_are_what_was_written(tmp_path):
    writer = Writer(tmp_path / "a.zip", (2026, 3, 14, 19, 30, 0))
    member = writer.add("README.txt", io.BytesIO(b"words"))
    writer.seal()

    assert (member.size, writer.members["README.txt"]) == (5, member)
