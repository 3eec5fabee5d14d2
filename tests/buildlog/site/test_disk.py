from collections import namedtuple

import pytest
from django.db import connection

from buildlog.site import disk

Usage = namedtuple("Usage", "total used free")


@pytest.fixture
def free(monkeypatch):
    def set_free(count):
        monkeypatch.setattr(disk.shutil, "disk_usage", lambda path: Usage(10**12, 0, count))

    return set_free


@pytest.mark.parametrize(
    ("free_mb", "database_mb", "enough"),
    [
        (499, 10, False),
        (500, 10, True),
        (500, 250, True),
        (500, 251, False),
        (801, 400, True),
        (799, 400, False),
    ],
)
def test_room_is_five_hundred_megabytes_or_twice_the_database(
    free, monkeypatch, free_mb, database_mb, enough
):
    free(free_mb * 1024 * 1024)
    monkeypatch.setattr(disk, "_database_bytes", lambda: database_mb * 1024 * 1024)

    assert disk.free_enough() is enough
    if not enough:
        with pytest.raises(disk.DiskFull):
            disk.require_room()


@pytest.mark.django_db
def test_database_counts_with_its_write_ahead_log():
    if connection.vendor == "sqlite":
        assert disk._database_bytes() > 100_000
    else:
        assert disk._database_bytes() == 0


@pytest.mark.django_db
@pytest.mark.parametrize("path", ["/full/", "/full-write/", "/full-database/"])
def test_full_disk_is_told_wherever_it_was_met(client, path):
    answer = client.get(path)

    assert answer.status_code == 507
    assert "Readings and notes can still be saved." in answer.content.decode()


@pytest.mark.django_db
def test_other_trouble_of_the_database_is_not_taken_for_a_full_disk(client):
    client.raise_request_exception = False

    assert client.get("/locked/").status_code == 500
