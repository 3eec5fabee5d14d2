import hashlib
import json
import shutil
from collections import namedtuple
from datetime import timedelta
from io import BytesIO, StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import OperationalError, connection
from django.db.migrations.recorder import MigrationRecorder

from buildlog.models import Photo, PhotoRendition
from buildlog.photos import store
from buildlog.site import backups, checks, disk, doctor
from tests.factories import BuildFactory

pytestmark = pytest.mark.django_db
Usage = namedtuple("Usage", "total used free")


@pytest.fixture(autouse=True)
def place(settings, tmp_path, monkeypatch):
    settings.DATA_DIR = tmp_path
    settings.MEDIA_ROOT = tmp_path / "photos"
    monkeypatch.setattr(disk.shutil, "disk_usage", lambda path: Usage(10**12, 0, 10**11))
    # The tests write with synchronous off, which the doctor is right to call trouble.
    monkeypatch.setitem(checks.WANTED_PRAGMAS, "synchronous", 0)
    return tmp_path


def findings(now, **options) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for each in doctor.examine(now, **options):
        found.setdefault(each.topic, []).append(each.state)
    return found


def keep_photo(body=b"a photograph") -> Photo:
    kept = store.store(BytesIO(body))
    photo = Photo.objects.create(
        build=BuildFactory(),
        client_uuid="0b0f2f5e-6d0f-4a53-9a3a-5b6b0a4f9c11",
        sha256=kept.sha256,
        media_type="image/jpeg",
        file_bytes=kept.size,
        known_at="2026-03-14T12:00Z",
        received_at="2026-03-14T12:00Z",
    )
    small = store.store(BytesIO(b"small " + body), store.RENDITIONS)
    PhotoRendition.objects.create(
        photo=photo,
        size="small",
        key=small.key,
        sha256=small.sha256,
        width=1,
        height=1,
        file_bytes=small.size,
    )
    return photo


def test_well_log_is_told_so(clock):
    keep_photo()
    backups.remember_verified(backups._path(), clock())

    found = findings(clock(), read_files=True)

    assert {state for states in found.values() for state in states} <= {"well", "warning"}
    assert found["photographs"] == found["backup"] == found["disk"] == found["tables"] == ["well"]


@pytest.mark.parametrize("size", ["original", "small"])
def test_missing_photograph_is_trouble(clock, size):
    photo = keep_photo()
    key = store.key_of(photo.sha256) if size == "original" else photo.renditions.get().key
    store.path_of(key).unlink()

    (finding,) = list(doctor.photographs(read_files=False))

    assert finding.state == "trouble"
    assert finding.says == f"1 of 2 files are missing: {key}."


def test_photograph_of_another_size_is_trouble_and_of_other_bytes_when_read_whole(clock):
    path = store.path_of(store.key_of(keep_photo().sha256))
    path.write_bytes(b"a photogr@ph")
    assert findings(clock())["photographs"] == ["well"]
    assert findings(clock(), read_files=True)["photographs"] == ["trouble"]

    path.write_bytes(b"")

    assert findings(clock())["photographs"] == ["trouble"]


def test_refused_photograph_needs_no_file(clock):
    photo = keep_photo()
    photo.state = Photo.State.REFUSED
    photo.save()
    photo.renditions.all().delete()
    shutil.rmtree(store.root() / store.ORIGINALS)

    assert findings(clock())["photographs"] == ["well"]


@pytest.mark.parametrize(("days", "state"), [(0, "well"), (7, "well"), (8, "warning"), (400, "warning")])
def test_backup_is_asked_for_after_a_week(clock, days, state):
    backups.remember_verified(backups._path(), clock())

    assert doctor.backup(clock() + timedelta(days=days)).state == state


@pytest.mark.parametrize(
    "said", [None, "", "{}", "[]", '{"verified_at": "yesterday"}', '{"verified_at": "2026-03-14"}']
)
def test_backup_that_cannot_be_read_back_counts_as_none(clock, place, said):
    if said is not None:
        (place / backups.NAME).write_text(said)

    assert doctor.backup(clock()).says.startswith("No verified backup yet")


def test_full_disk_is_trouble(clock, monkeypatch):
    monkeypatch.setattr(disk.shutil, "disk_usage", lambda path: Usage(10**12, 0, 499 * 1024 * 1024))

    assert findings(clock())["disk"] == ["trouble"]


def test_tables_of_an_older_version_are_trouble(clock):
    MigrationRecorder.Migration.objects.filter(app="buildlog").order_by("-id").first().delete()

    assert findings(clock())["tables"] == ["trouble"]


def test_setting_that_was_lost_is_trouble(clock, monkeypatch):
    if connection.vendor != "sqlite":
        pytest.skip("SQLite's settings")
    monkeypatch.setitem(checks.WANTED_PRAGMAS, "synchronous", 2)

    states = [each.state for each in doctor.database() if "synchronous" in each.says]

    assert states == ["trouble"]


def test_postgresql_that_does_not_sync_is_trouble(monkeypatch):
    if connection.vendor != "postgresql":
        pytest.skip("PostgreSQL's settings")
    assert [each.state for each in doctor.database()] == ["well"]
    monkeypatch.setattr(doctor, "_shown", lambda cursor, name: "off" if name == "fsync" else "on")

    assert [each.state for each in doctor.database()] == ["trouble"]


@pytest.mark.parametrize(("is_https", "words"), [(False, "read along"), (True, "over https only")])
def test_address_says_what_http_lacks(settings, is_https, words):
    settings.IS_HTTPS = is_https

    assert words in doctor.address().says


def test_command_ends_with_one_when_there_is_trouble_and_says_all_in_json(clock, monkeypatch):
    told = StringIO()
    monkeypatch.setattr(disk.shutil, "disk_usage", lambda path: Usage(1, 1, 0))

    with pytest.raises(CommandError) as trouble:
        call_command("doctor", "--json", stdout=told)

    said = json.loads(told.getvalue())
    assert trouble.value.returncode == 1
    assert said["well"] is False
    assert [each["topic"] for each in said["findings"] if each["state"] == "trouble"] == ["disk"]
    assert all(set(each) == {"topic", "state", "says"} for each in said["findings"])


def test_doctor_does_not_fall_over_what_it_cannot_look_at(clock, monkeypatch):
    def refuse(*arguments):
        raise OperationalError("no such table: buildlog_photo")

    monkeypatch.setattr(doctor, "photographs", refuse)
    monkeypatch.setattr(doctor, "migrations", refuse)

    found = findings(clock())

    assert found["photographs"] == found["tables"] == ["trouble"]
    assert found["disk"] == ["well"]


def test_command_says_one_line_a_finding(clock):
    told = StringIO()

    call_command("doctor", stdout=told)

    lines = told.getvalue().splitlines()
    assert len(lines) == len(doctor.examine(clock()))
    assert all(line.split()[0] in ("well", "warning") for line in lines)


def test_digest_is_that_of_the_whole_file(place):
    (place / "x").write_bytes(b"x" * 3_000_000)

    assert doctor._digest(place / "x") == hashlib.sha256(b"x" * 3_000_000).hexdigest()
