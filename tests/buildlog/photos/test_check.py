"""What the check says of one upload."""

import io
from datetime import datetime

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from buildlog.photos import heif
from buildlog.photos.check import Checked, check
from buildlog.photos.refusals import PhotoRefused, clean_name
from tests.buildlog.photos.file_parts import exif_block, jpeg_segment, picture, saved, with_segments


def named(content, name="garboard.jpg"):
    return SimpleUploadedFile(name, content, content_type="text/html")


def heic(*sizes):
    boxes = b"".join(
        b"\0\0\0\x14ispe\0\0\0\0" + w.to_bytes(4, "big") + h.to_bytes(4, "big") for w, h in sizes
    )
    return b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + b"\0\0\0\x20meta" + boxes


def test_check_tells_what_the_bytes_say_and_leaves_the_file_at_its_start():
    content = with_segments(saved(picture(), "JPEG"), jpeg_segment(0xE1, b"Exif\0\0" + exif_block(6)))
    file = named(content)

    checked = check(file)

    assert checked == Checked(
        name="garboard.jpg",
        kind="JPEG",
        size=len(content),
        width=160,
        height=120,
        orientation=6,
        taken_local=datetime(2026, 2, 14, 9, 41, 7),
        camera="",
        sha256=checked.sha256,
    )
    assert checked.content_type == "image/jpeg"
    assert len(checked.sha256) == 64
    assert file.tell() == 0


def test_check_reads_big_endian_notes():
    content = with_segments(
        saved(picture(), "JPEG"), jpeg_segment(0xE1, b"Exif\0\0" + exif_block(8, order=">"))
    )

    checked = check(named(content))

    assert (checked.orientation, checked.taken_local) == (8, datetime(2026, 2, 14, 9, 41, 7))


@pytest.mark.parametrize("model", ["Bench Camera 3", "Cam", "X"])
def test_check_reads_the_kind_of_camera_and_never_its_number(model):
    notes = b"Exif\0\0" + exif_block(model=model)

    checked = check(named(with_segments(saved(picture(), "JPEG"), jpeg_segment(0xE1, notes))))

    assert checked.camera == model
    assert b"SN-4711-SERIAL" in notes


def test_check_of_a_picture_without_notes_knows_no_time():
    checked = check(named(saved(picture(), "PNG")))

    assert (checked.kind, checked.taken_local, checked.orientation) == ("PNG", None, 1)


def test_check_says_how_large_the_file_was_and_how_large_it_may_be():
    with pytest.raises(PhotoRefused) as refusal:
        check(named(saved(picture(), "JPEG") + b"\0" * (52 * 1024 * 1024)))

    assert refusal.value.sentence == (
        "garboard.jpg is 52 MB; the most for one photograph is 40 MB. Set the camera to a smaller size, "
        "or save a smaller copy and send that."
    )


def test_check_reads_little_of_a_large_file_into_memory():
    class Counting(io.BytesIO):
        largest = 0

        def read(self, size=-1):
            found = super().read(size)
            Counting.largest = max(Counting.largest, len(found))
            return found

    file = Counting(saved(picture(), "JPEG") + b"\0" * (30 * 1024 * 1024))

    check(file)

    assert Counting.largest <= 1 << 20


def test_heic_without_its_library_is_told_what_to_do(monkeypatch):
    monkeypatch.setattr(heif, "can_open", lambda: False)

    with pytest.raises(PhotoRefused) as refusal:
        check(named(heic((4032, 3024)), "IMG_2041.HEIC"))

    assert refusal.value.sentence == (
        "IMG_2041.HEIC is a HEIC photograph, which this server cannot open. Choose JPEG (“most compatible”) "
        "in the phone’s camera settings, or save a copy as JPEG and send that. "
        "Whoever runs this server can also add the pillow-heif library to it."
    )


def test_heic_with_its_library_is_measured_by_its_largest_part(monkeypatch):
    monkeypatch.setattr(heif, "can_open", lambda: True)

    checked = check(named(heic((512, 512), (4032, 3024))))

    assert (checked.kind, checked.width, checked.height) == ("HEIF", 4032, 3024)


@pytest.mark.parametrize("before", [0, (1 << 20) - 200, (1 << 20) - 100])
def test_heic_tells_when_it_was_taken_wherever_its_notes_lie(monkeypatch, before):
    monkeypatch.setattr(heif, "can_open", lambda: True)
    notes = b"\0\0\0\6Exif\0\0" + exif_block(6, order=">")

    checked = check(named(heic((4032, 3024)) + b"\x55" * before + notes))

    assert checked.taken_local == datetime(2026, 2, 14, 9, 41, 7)


def test_heic_of_too_many_points_is_refused_before_it_is_opened(monkeypatch):
    monkeypatch.setattr(heif, "can_open", lambda: True)

    with pytest.raises(PhotoRefused, match="50 million"):
        check(named(heic((9000, 9000))))


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        ("garboard.jpg", "garboard.jpg"),
        ("C:\\Users\\me\\garboard.jpg", "garboard.jpg"),
        ("../../etc/passwd", "passwd"),
        ("a\r\nb.jpg", "ab.jpg"),
        ("\u202egpj.exe", "gpj.exe"),
        ("x" * 100 + ".jpg", "x" * 40 + "…" + "x" * 12 + ".jpg"),
        ("", "The file"),
        (None, "The file"),
        ("\ud800.jpg", "?.jpg"),
    ],
)
def test_clean_name_is_fit_to_be_shown(given, shown):
    assert clean_name(given) == shown
