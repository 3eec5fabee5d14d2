"""Keeping files: synced in the right order, once each, and nothing left behind by a failure."""

import hashlib
import io
import os

import pytest

from buildlog.photos import store, sweep

DAY = 24 * 60 * 60


@pytest.fixture(autouse=True)
def own_root(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "photos"
    return settings.MEDIA_ROOT


def files_under(root):
    return sorted(path.relative_to(root).as_posix() for path in root.rglob("*") if path.is_file())


def test_store_keeps_the_file_under_its_own_digest(own_root):
    content = b"a picture" * 1000

    kept = store.store(io.BytesIO(content))

    sha256 = hashlib.sha256(content).hexdigest()
    assert kept == store.Kept(f"originals/{sha256[:2]}/{sha256[2:4]}/{sha256}", sha256, 9000)
    assert store.path_of(kept.key).read_bytes() == content
    assert files_under(own_root) == [kept.key]


def test_store_syncs_the_file_then_renames_then_syncs_the_folder(own_root, monkeypatch):
    store.store(io.BytesIO(b"so that every folder but the last is there"))
    deeds = []
    real_sync, real_replace = os.fsync, os.replace
    monkeypatch.setattr(
        os, "fsync", lambda fd: (deeds.append(("sync", os.readlink(f"/proc/self/fd/{fd}"))), real_sync(fd))
    )
    monkeypatch.setattr(os, "replace", lambda a, b: (deeds.append(("rename", str(b))), real_replace(a, b)))

    path = store.path_of(store.store(io.BytesIO(b"picture")).key)

    words = [word for word, _ in deeds]
    assert deeds[0][0] == "sync"
    assert deeds[0][1].endswith(store.PART)
    assert deeds[-2:] == [("rename", str(path)), ("sync", str(path.parent))]
    assert words.count("rename") == 1
    # Each new folder's own name is synced in the folder above it.
    assert ("sync", str(path.parent.parent)) in deeds


def test_store_of_the_same_content_twice_keeps_one_file(own_root):
    first = store.store(io.BytesIO(b"picture"))
    os.utime(store.path_of(first.key), (1, 1))

    second = store.store(io.BytesIO(b"picture"))

    assert second == first
    assert files_under(own_root) == [first.key]
    assert store.path_of(first.key).stat().st_mtime > 1


@pytest.mark.parametrize("damage", [b"", b"pictur", b"PICTURE"])
def test_store_mends_a_damaged_file_of_the_same_content(damage):
    kept = store.store(io.BytesIO(b"picture"))
    store.path_of(kept.key).write_bytes(damage)

    store.store(io.BytesIO(b"picture"))

    assert store.path_of(kept.key).read_bytes() == b"picture"


@pytest.mark.parametrize("when", ["write", "fsync", "replace"])
def test_store_leaves_nothing_behind_when_the_disk_is_full(own_root, monkeypatch, when):
    def full(*_):
        raise OSError(28, "No space left on device")

    class FullFile(io.BytesIO):
        def read(self, size=-1):
            return full() if self.tell() else super().read(10)

    if when != "write":
        monkeypatch.setattr(os, when, full)

    with pytest.raises(OSError, match="No space"):
        store.store(FullFile(b"x" * 100) if when == "write" else io.BytesIO(b"picture"))

    assert files_under(own_root) == []


@pytest.mark.parametrize(
    "key",
    [
        "",
        "/etc/passwd",
        "originals/../../secret_key",
        "originals/ab/cd/short",
        "other/ab/cd/" + "a" * 64,
        "originals/ab/cd/" + "a" * 64 + "\n",
    ],
)
def test_path_of_refuses_what_is_no_key(key):
    with pytest.raises(ValueError, match="not a key"):
        store.path_of(key)


def test_sweep_deletes_what_no_row_has_named_for_a_day():
    named, orphan = store.store(io.BytesIO(b"named")), store.store(io.BytesIO(b"orphan"))
    now = 10 * DAY
    for kept in (named, orphan):
        os.utime(store.path_of(kept.key), (now - 5 * DAY, now - 5 * DAY))

    first = sweep.sweep(lambda key: key == named.key, now=now)
    soon = sweep.sweep(lambda key: key == named.key, now=now + DAY - 60)
    later = sweep.sweep(lambda key: key == named.key, now=now + DAY)

    assert [first, soon, later] == [sweep.Swept(0, 1), sweep.Swept(0, 1), sweep.Swept(1, 0)]
    assert list(sweep.all_keys()) == [named.key]


def test_sweep_starts_the_day_anew_when_a_row_named_the_file_between():
    kept = store.store(io.BytesIO(b"picture"))
    os.utime(store.path_of(kept.key), (0, 0))

    sweep.sweep(lambda key: False, now=2 * DAY)
    sweep.sweep(lambda key: True, now=3 * DAY)
    again = sweep.sweep(lambda key: False, now=4 * DAY)

    assert again == sweep.Swept(0, 1)


def test_sweep_spares_a_file_that_is_sent_again_at_that_moment():
    kept = store.store(io.BytesIO(b"picture"))
    os.utime(store.path_of(kept.key), (0, 0))
    asked = []

    def named_at_the_second_look(key):
        asked.append(key)
        return len(asked) > 2

    sweep.sweep(named_at_the_second_look, now=2 * DAY)
    swept = sweep.sweep(named_at_the_second_look, now=4 * DAY)

    assert len(asked) == 3
    assert swept.deleted == 0
    assert store.path_of(kept.key).read_bytes() == b"picture"


def test_sweep_clears_what_a_killed_server_left(own_root):
    old, young = (
        own_root / "originals" / ("a" * 32 + store.PART),
        own_root / "originals" / ("b" * 32 + store.PART),
    )
    scratch = own_root / "scratch" / "left"
    scratch.mkdir(parents=True)
    old.parent.mkdir(parents=True)
    for path in (old, young):
        path.write_bytes(b"half a pic")
    now = young.stat().st_mtime
    os.utime(old, (now - DAY, now - DAY))
    os.utime(scratch, (now - DAY, now - DAY))

    sweep.sweep(lambda key: True, now=now)

    assert (old.exists(), young.exists(), scratch.exists()) == (False, True, False)
