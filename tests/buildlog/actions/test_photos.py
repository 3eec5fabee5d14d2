"""Receiving photographs: once each, the file before the row, ready by the job."""

import contextlib
import errno
import os
import uuid
from datetime import UTC, datetime, timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError

from buildlog.actions import photos
from buildlog.actions.conflict import Conflict
from buildlog.actions.photo_edits import turn_photo
from buildlog.jobs import worker
from buildlog.models import Event, Job, Photo
from buildlog.photos import store
from buildlog.photos.refusals import PhotoRefused, refused
from buildlog.photos.sweep import sweep
from buildlog.queries.photos import is_key_named
from buildlog.site.disk import DiskFull
from tests.buildlog.photos.file_parts import (
    exif_block,
    full_metadata_jpeg,
    jpeg_segment,
    noise,
    picture,
    saved,
    with_segments,
)

NOW = datetime(2026, 3, 14, 19, 30, tzinfo=UTC)


@pytest.fixture(autouse=True)
def own_root(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "photos"
    return settings.MEDIA_ROOT


@pytest.fixture
def send(hull):
    """Return a function that sends one photograph to the hull's build."""

    def sent(content=None, *, client_uuid=None, name="IMG_2041.JPG", now=NOW, **fields):
        file = SimpleUploadedFile(name, saved(picture(), "JPEG") if content is None else content)
        client_uuid = client_uuid or uuid.uuid4()
        return photos.receive_photo(
            hull.build, hull.person, client_uuid=client_uuid, file=file, now=now, **fields
        )

    return sent


def test_photo_received_is_on_the_disk_with_its_row_and_its_job(send, hull):
    content = with_segments(saved(picture(), "JPEG"), jpeg_segment(0xE1, b"Exif\0\0" + exif_block()))
    strake = hull.strakes["3"]

    photo, created = send(content, caption="Garboard clamped", marks=[{"strake": strake, "side": "port"}])

    photo.refresh_from_db()
    assert created is True
    assert (photo.state, photo.media_type, photo.file_bytes) == ("received", "image/jpeg", len(content))
    assert (photo.taken_local, photo.file_name, photo.caption) == (
        "2026-02-14T09:41:07",
        "IMG_2041.JPG",
        "Garboard clamped",
    )
    assert store.path_of(store.key_of(photo.sha256)).read_bytes() == content
    assert list(photo.marks.values_list("strake__uuid", "side")) == [(strake.uuid, "port")]
    assert list(Job.objects.values_list("kind", "payload")) == [("photo", {"photo": str(photo.uuid)})]


def test_no_place_is_kept_anywhere_in_the_rows(send):
    content = full_metadata_jpeg()
    photo, _ = send(content)
    worker.run_pending()

    rows = str([*Photo.objects.values(), *Event.objects.values(), *Job.objects.values()])

    assert photo.taken_local == "2026-02-14T09:41:07"
    for secret in ("38.7223", "GPS", "Skipper", "4711", "secret comment"):
        assert secret.encode() in content
        assert secret not in rows


def test_photo_sent_again_is_the_same_photo(send, own_root):
    same = {"client_uuid": uuid.uuid4(), "caption": "Garboard"}
    first, _ = send(**same)

    again, created = send(**same, now=NOW + timedelta(days=3))

    assert (again.pk, created) == (first.pk, False)
    assert (Photo.objects.count(), Job.objects.count()) == (1, 1)


def test_photo_sent_again_after_its_caption_was_edited_is_still_the_same(send):
    same = {"client_uuid": uuid.uuid4(), "caption": "Garboard"}
    first, _ = send(**same)
    Photo.objects.update(caption="Garboard, port side")

    again, created = send(**same)

    assert (again.pk, created) == (first.pk, False)


@pytest.mark.parametrize("other", ["file", "caption", "marks"])
def test_same_identity_with_other_content_is_a_conflict_that_shows_what_stands(send, hull, other):
    client_uuid = uuid.uuid4()
    first, _ = send(client_uuid=client_uuid, caption="Garboard")
    fields = {
        "file": {"content": saved(noise(), "JPEG"), "caption": "Garboard"},
        "caption": {"caption": "Sheer strake"},
        "marks": {"caption": "Garboard", "marks": [{"strake": hull.strakes["1"]}]},
    }[other]

    with pytest.raises(Conflict) as conflict:
        send(client_uuid=client_uuid, **fields)

    assert conflict.value.theirs == first
    assert Photo.objects.count() == 1


def test_same_identity_from_another_person_is_a_conflict(send, hull, helper):
    client_uuid = uuid.uuid4()
    send(client_uuid=client_uuid)
    other = hull.build.people.get(account=helper)
    file = SimpleUploadedFile("a.jpg", saved(picture(), "JPEG"))

    with pytest.raises(Conflict):
        photos.receive_photo(hull.build, other, client_uuid=client_uuid, file=file, now=NOW)


def test_refused_photo_leaves_no_row_and_no_file(send, own_root):
    with pytest.raises(PhotoRefused, match=r"IMG_2041\.JPG is a moving picture"):
        send(saved(picture(), "WEBP", save_all=True, append_images=[noise(160, 120)], duration=90))

    assert Photo.objects.count() == 0
    assert not list(own_root.rglob("*"))


def test_full_disk_is_told_before_a_byte_is_written(send, own_root, monkeypatch):
    def no_room():
        raise DiskFull

    monkeypatch.setattr(photos, "require_room", no_room)

    with pytest.raises(DiskFull):
        send()

    assert Photo.objects.count() == 0
    assert not list(own_root.rglob("*"))


def test_photo_sent_before_is_known_again_though_the_disk_is_full(send, monkeypatch):
    client_uuid = uuid.uuid4()
    first, _ = send(client_uuid=client_uuid)

    def no_room():
        raise DiskFull

    monkeypatch.setattr(photos, "require_room", no_room)

    assert send(client_uuid=client_uuid) == (first, False)


def test_file_is_on_the_disk_before_the_row_is_written(send, monkeypatch):
    seen = []
    real = photos._commit

    def look_first(photo, *rest):
        seen.append(store.path_of(store.key_of(photo.sha256)).stat().st_size)
        return real(photo, *rest)

    monkeypatch.setattr(photos, "_commit", look_first)

    photo, _ = send()

    assert seen == [photo.file_bytes]


def test_row_that_cannot_be_written_for_another_reason_is_not_hidden(send, hull, monkeypatch):
    def fails(*_):
        raise IntegrityError("something else")

    monkeypatch.setattr(photos, "_commit", fails)

    with pytest.raises(IntegrityError, match="something else"):
        send()


def test_job_makes_the_photo_ready_with_three_clean_renditions(send):
    photo, _ = send(full_metadata_jpeg(6, image=picture(800, 600)))

    assert worker.run_pending() == 1

    photo.refresh_from_db()
    sizes = list(photo.renditions.order_by("-width").values_list("size", "width", "height"))
    assert (photo.state, photo.width, photo.height) == ("ready", 600, 800)
    assert sizes == [("large", 600, 800), ("middle", 600, 800), ("small", 240, 320)]
    for rendition in photo.renditions.all():
        made = store.path_of(rendition.key).read_bytes()
        assert (len(made), made[:3]) == (rendition.file_bytes, b"\xff\xd8\xff")
        assert b"GPS" not in made
    assert Job.objects.get().state == "done"


def test_job_refuses_a_photo_that_breaks_off_inside_and_says_why(send):
    whole = saved(noise(), "PNG")
    middle = whole.index(b"IDAT") + 3000
    photo, _ = send(whole[:middle] + b"\0" * 40 + whole[middle + 40 :], name="deck.png")

    worker.run_pending()

    photo.refresh_from_db()
    assert photo.state == "refused"
    assert photo.refusal.startswith("deck.png is damaged")
    assert photo.renditions.count() == 0
    assert Job.objects.get().result == {"state": "refused", "reason": "damaged"}


@pytest.fixture
def disk_full_for_the_child(monkeypatch):
    """Return a function that takes the room away from whoever makes renditions, and one that gives it back."""
    if not os.path.exists("/dev/full"):
        pytest.skip("there is no disk here that is always full")
    real = store.scratch_folder

    @contextlib.contextmanager
    def full():
        with real() as folder:
            os.symlink("/dev/full", folder / "large.jpg")
            yield folder

    def set_full(is_full=True):
        monkeypatch.setattr(store, "scratch_folder", full if is_full else real)

    return set_full


def sweep_after(days, at=NOW):
    """Sweep twice, as a day's wait asks, when the files are so old."""
    moment = at + timedelta(days=days)
    for file in store.root().rglob("*"):
        if file.is_file():
            os.utime(file, (at.timestamp(), at.timestamp()))
    for late in (timedelta(0), timedelta(hours=25)):
        sweep(lambda key, late=late: is_key_named(key, now=moment + late), now=(moment + late).timestamp())


def test_photo_waits_for_as_long_as_the_disk_is_full_and_is_then_ready(send, clock, disk_full_for_the_child):
    photo, _ = send(now=clock())
    disk_full_for_the_child()
    for _minute in range(30):
        worker.run_pending()
        clock.forward(minutes=1)
    photo.refresh_from_db()
    assert (photo.state, photo.refusal) == ("received", "")

    disk_full_for_the_child(False)
    worker.run_pending()

    photo.refresh_from_db()
    assert (photo.state, photo.renditions.count()) == ("ready", 3)


def test_photo_turned_on_a_full_disk_keeps_its_turn_and_its_file(send, hull, clock, disk_full_for_the_child):
    photo, _ = send(now=clock())
    worker.run_pending()
    disk_full_for_the_child()
    turn_photo(photo, 90, person=hull.person, now=clock())
    for _minute in range(30):
        worker.run_pending()
        clock.forward(minutes=1)
    sweep_after(days=40)
    photo.refresh_from_db()
    assert (photo.state, photo.edits) == ("received", {"turn": 90})

    disk_full_for_the_child(False)
    worker.run_pending()

    photo.refresh_from_db()
    assert (photo.state, photo.edits) == ("ready", {"turn": 90})


def test_photo_that_was_ready_once_is_never_refused_whatever_the_child_says(send, clock, monkeypatch):
    photo, _ = send(now=clock())
    worker.run_pending()

    def say_damaged(source, folder, name, edits):
        raise refused("damaged", name)

    monkeypatch.setattr("buildlog.jobs.photo.derive", say_damaged)
    Job.objects.update(state="queued", tries=0)

    for _minute in range(60):
        worker.run_pending()
        clock.forward(minutes=1)

    photo.refresh_from_db()
    assert (photo.state, photo.refusal, photo.renditions.count()) == ("ready", "", 3)
    assert Job.objects.get().state == "failed"


def test_system_without_another_open_file_is_waited_for(send, clock, monkeypatch):
    photo, _ = send(now=clock())

    def no_more_files(*_args, **_kwargs):
        raise OSError(errno.EMFILE, "Too many open files")

    monkeypatch.setattr("buildlog.photos.derive.subprocess.run", no_more_files)
    for _minute in range(60):
        worker.run_pending()
        clock.forward(minutes=1)

    photo.refresh_from_db()
    assert (photo.state, Job.objects.get().state) == ("received", "queued")


def test_original_refused_after_it_was_received_is_kept_for_thirty_days(send):
    photo, _ = send()
    path = store.path_of(store.key_of(photo.sha256))
    photos.refuse_photo(photo, "IMG_2041.JPG is damaged.", now=NOW)

    sweep_after(days=28)
    assert path.exists()
    sweep_after(days=31)
    assert not path.exists()


def test_original_of_a_photo_that_ever_had_renditions_is_never_swept(send, clock):
    photo, _ = send(now=clock())
    worker.run_pending()
    photos.refuse_photo(photo, "IMG_2041.JPG is damaged.", now=NOW)

    sweep_after(days=400)

    assert store.path_of(store.key_of(photo.sha256)).exists()


def test_job_done_twice_comes_to_the_same(send):
    photo, _ = send()
    worker.run_pending()
    before = list(photo.renditions.order_by("pk").values())
    Job.objects.update(state="queued", tries=0)

    worker.run_pending()

    assert list(photo.renditions.order_by("pk").values()) == before
