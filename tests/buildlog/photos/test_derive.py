"""Renditions: upright, of the right size and colour, and made in a child that cannot take the server down."""

import errno
import io
import os
import signal
import struct
import subprocess
import sys
import zlib

import pytest
from PIL import Image, ImageChops, ImageCms, ImageStat

from buildlog.photos import child, render
from buildlog.photos import derive as deriving
from buildlog.photos.derive import ChildLost, MachineInTheWay, derive
from buildlog.photos.refusals import PhotoRefused
from buildlog.photos.render import renditions
from tests.buildlog.photos.file_parts import exif_block, jpeg_segment, noise, picture, png_chunk, saved, with_segments


def made_of(content, folder):
    (folder / "source").write_bytes(content)
    return derive(folder / "source", folder, "garboard.jpg")


def near(found, wanted, by=30):
    return all(abs(a - b) <= by for a, b in zip(found, wanted, strict=True))


def test_derive_makes_three_sizes_largest_first(tmp_path):
    content = saved(noise(2400, 1200), "JPEG")

    made = made_of(content, tmp_path)

    assert [(each.size, each.width, each.height) for each in made] == [
        ("large", 1920, 960),
        ("middle", 960, 480),
        ("small", 320, 160),
    ]
    for each in made:
        with Image.open(each.path) as image:
            assert (image.format, image.mode, image.size) == ("JPEG", "RGB", (each.width, each.height))


def test_derive_never_makes_a_picture_larger(tmp_path):
    made = made_of(saved(picture(500, 400), "JPEG"), tmp_path)

    assert [(each.width, each.height) for each in made] == [(500, 400), (500, 400), (320, 256)]


@pytest.mark.parametrize("turn", range(1, 9))
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_rendition_stands_upright_whichever_way_the_camera_was_held(turn, kind, tmp_path):
    lying = picture(800, 600).transpose(UNTURNED[turn]) if turn > 1 else picture(800, 600)
    content = saved(lying, kind, exif=b"Exif\0\0" + exif_block(turn))

    sizes = renditions(content, tmp_path)

    assert sizes["large"] == [800, 600]
    with Image.open(tmp_path / "large.jpg") as image:
        assert near(image.getpixel((20, 20)), (255, 255, 255))
        assert near(image.getpixel((780, 20)), (210, 30, 30))
        assert near(image.getpixel((400, 580)), (30, 40, 200))


# How each camera position lays the picture down: the opposite of the turn that sets it upright.
UNTURNED = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_270,
}


def test_see_through_parts_are_laid_on_white(tmp_path):
    image = Image.new("RGBA", (3000, 40), (0, 0, 0, 0))
    image.paste((10, 120, 10, 255), (0, 0, 1500, 40))

    renditions(saved(image, "PNG"), tmp_path)

    with Image.open(tmp_path / "large.jpg") as made:
        assert near(made.getpixel((100, 12)), (10, 120, 10), by=8)
        assert near(made.getpixel((1800, 12)), (255, 255, 255), by=8)


def test_deep_greys_keep_their_tone(tmp_path):
    renditions(saved(Image.new("I;16", (60, 40), 128 * 256), "PNG"), tmp_path)

    with Image.open(tmp_path / "large.jpg") as made:
        assert near(made.getpixel((30, 20)), (128, 128, 128), by=3)


def test_another_colour_space_is_turned_into_srgb(tmp_path):
    """Half of the light in a linear profile is 188 in sRGB (IEC 61966-2-1: 1.055 * 0.5**(1/2.4) - 0.055)."""
    linear = linear_grey_profile()
    content = saved(Image.new("L", (64, 64), 128), "PNG", icc_profile=linear)

    renditions(content, tmp_path)

    with Image.open(tmp_path / "large.jpg") as made:
        assert near(made.getpixel((30, 30)), (188, 188, 188), by=4)


def linear_grey_profile() -> bytes:
    """Write a grey ICC profile (version 2) whose curve is the identity."""
    white = b"XYZ \0\0\0\0" + struct.pack(">3i", 63190, 65536, 54061)
    curve = b"curv\0\0\0\0" + struct.pack(">I", 0)
    text = b"desc\0\0\0\0" + struct.pack(">I", 7) + b"linear\0" + b"\0" * 79
    tags, body, at = [], b"", 128 + 4 + 3 * 12
    for name, value in ((b"wtpt", white), (b"kTRC", curve), (b"desc", text)):
        value += b"\0" * (-len(value) % 4)
        tags.append(name + struct.pack(">II", at + len(body), len(value)))
        body += value
    size = at + len(body)
    head = struct.pack(">I4sI4s4s4s", size, b"none", 0x02400000, b"mntr", b"GRAY", b"XYZ ")
    head += struct.pack(">6H", 2026, 1, 1, 0, 0, 0) + b"acsp" + b"\0" * 28
    head += struct.pack(">3i", 63190, 65536, 54061)
    return head.ljust(128, b"\0") + struct.pack(">I", 3) + b"".join(tags) + body


def test_srgb_profile_leaves_the_colours_as_they_are(tmp_path):
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()

    renditions(saved(Image.new("RGB", (64, 64), (200, 100, 50)), "PNG", icc_profile=srgb), tmp_path)

    with Image.open(tmp_path / "large.jpg") as made:
        assert near(made.getpixel((30, 30)), (200, 100, 50), by=4)


def test_largest_picture_of_each_kind_fits_the_childs_memory(tmp_path):
    """64 million points progressive is the hardest JPEG: its decoder holds every coefficient at once."""
    image = Image.new("RGB", (8000, 8000), (120, 90, 60))
    content = saved(image, "JPEG", progressive=True, subsampling=0)

    made = made_of(content, tmp_path)

    assert (made[0].width, made[0].height) == (1920, 1920)


def test_largest_see_through_png_fits_the_childs_memory(tmp_path):
    head = png_chunk(b"IHDR", struct.pack(">IIBBBBB", 8000, 8000, 8, 6, 0, 0, 0))
    points = png_chunk(b"IDAT", zlib.compress(b"\0" * (8000 * 4 + 1) * 8000, 1))

    made = made_of(b"\x89PNG\r\n\x1a\n" + head + points + png_chunk(b"IEND", b""), tmp_path)

    assert (made[2].width, made[2].height) == (320, 320)


def test_child_out_of_memory_is_told_in_a_sentence(tmp_path, monkeypatch):
    monkeypatch.setenv("RECKONER_CHILD_MEMORY", str(150 * 1024 * 1024))

    with pytest.raises(PhotoRefused) as refusal:
        made_of(saved(Image.new("RGB", (7000, 7000)), "PNG"), tmp_path)

    assert refusal.value.reason == "too_hard"
    assert refusal.value.sentence.startswith("garboard.jpg takes more memory or time")


def test_child_out_of_time_is_ended_and_told_in_a_sentence(tmp_path, monkeypatch):
    monkeypatch.setattr(deriving, "CHILD_WALL_SECONDS", 0.05)

    with pytest.raises(PhotoRefused) as refusal:
        made_of(saved(picture(), "JPEG"), tmp_path)

    assert refusal.value.reason == "too_hard"


def test_child_ended_from_outside_is_not_blamed_on_the_picture(tmp_path, monkeypatch):
    killing = [deriving.sys.executable, "-c", "import os, signal; os.kill(os.getpid(), signal.SIGKILL)"]
    monkeypatch.setattr(deriving, "_command", lambda *_: killing)

    with pytest.raises(ChildLost):
        made_of(saved(picture(), "JPEG"), tmp_path)


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="there is no disk here that is always full")
@pytest.mark.parametrize("size", ["large", "middle", "small"])
def test_disk_that_is_full_is_not_blamed_on_the_picture(size, tmp_path):
    os.symlink("/dev/full", tmp_path / f"{size}.jpg")

    with pytest.raises(MachineInTheWay, match="No space left"):
        made_of(saved(noise(), "JPEG"), tmp_path)


def test_rendition_that_was_written_in_part_alone_is_told(tmp_path):
    """A write that finds no room for its end says how much it wrote, and no more."""
    resource = pytest.importorskip("resource")
    content, before = saved(noise(), "JPEG"), resource.getrlimit(resource.RLIMIT_FSIZE)
    handler = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, before[1]))
    try:
        with pytest.raises(OSError, match="too large") as trouble:
            renditions(content, tmp_path)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
        signal.signal(signal.SIGXFSZ, handler)

    assert trouble.value.errno == errno.EFBIG


@pytest.mark.parametrize("number", [errno.EIO, errno.EMFILE, errno.EACCES, errno.EROFS, errno.ENOMEM])
def test_machine_that_cannot_read_or_write_is_not_blamed_on_the_picture(number, tmp_path, monkeypatch):
    def in_the_way(*_):
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(render, "renditions", in_the_way)
    (tmp_path / "source").write_bytes(b"")

    assert child.answer(tmp_path / "source", tmp_path) == {
        "machine": number, "detail": f"[Errno {number}] {os.strerror(number)}"
    }  # fmt: skip


def test_original_that_is_not_there_is_looked_for_again_and_not_for_ever(tmp_path):
    with pytest.raises(ChildLost) as lost:
        derive(tmp_path / "gone", tmp_path, "garboard.jpg")

    assert lost.value.counts


@pytest.mark.skipif(not hasattr(os, "nice"), reason="there is no niceness here")
def test_child_stands_back_behind_the_pages():
    ask = "import os; from buildlog.photos.child import _cap_this_process; _cap_this_process(); print(os.nice(0))"

    told = subprocess.run([sys.executable, "-c", ask], check=True, capture_output=True)

    assert int(told.stdout) == min(19, os.nice(0) + 10)


def test_child_is_told_no_secrets(tmp_path, monkeypatch):
    monkeypatch.setenv("SECRET_KEY", "not for the child")

    assert "SECRET_KEY" not in deriving.plain_environment()


def test_damaged_picture_is_refused_by_name(tmp_path):
    whole = saved(noise(), "PNG")
    middle = whole.index(b"IDAT") + 3000

    with pytest.raises(PhotoRefused) as refusal:
        made_of(whole[:middle] + b"\0" * 40 + whole[middle + 40 :], tmp_path)

    assert refusal.value.sentence == (
        "garboard.jpg is damaged: it begins like a picture but cannot be read. "
        "Send it again, or send another copy."
    )


def test_renditions_of_one_picture_are_the_same_bytes_each_time(tmp_path):
    content = with_segments(saved(noise(), "JPEG"), jpeg_segment(0xE1, b"Exif\0\0" + exif_block()))
    first, second = tmp_path / "first", tmp_path / "second"
    first.mkdir(), second.mkdir()

    renditions(content, first)
    renditions(io.BytesIO(content).read(), second)

    assert (first / "large.jpg").read_bytes() == (second / "large.jpg").read_bytes()


def cut_both_ways(content, folder, monkeypatch):
    """Return one part of a picture cut out of it in colour, and plane by plane."""
    found = []
    for name, most in (("colour", 100_000_000), ("planes", 0)):
        monkeypatch.setattr(render, "_MOST_IN_COLOUR", most)
        (folder / name).mkdir()
        render.renditions(content, folder / name, {"crop": [0.21, 0.33, 0.58, 0.71], "turn": 90})
        with Image.open(folder / name / "large.jpg") as image:
            found.append(image.convert("RGB"))
    return found


def mean_difference(one, other):
    return max(ImageStat.Stat(ImageChops.difference(one, other)).mean)


@pytest.mark.parametrize("told", [{"subsampling": 0}, {"subsampling": 2}, {"progressive": True}, {"keep_rgb": True}])
def test_part_decoded_plane_by_plane_is_the_part_decoded_in_colour(told, tmp_path, monkeypatch):
    content = saved(picture(1603, 1201), "JPEG", quality=95, **told)

    colour, planes = cut_both_ways(content, tmp_path, monkeypatch)

    assert colour.size == planes.size
    assert mean_difference(colour, planes) < 3
    assert mean_difference(colour, planes.transpose(Image.Transpose.ROTATE_180)) > 3


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="the peak is read from /proc")
def test_part_of_a_large_picture_wants_little_memory(tmp_path):
    """In colour the whole of it would be held at 192 MB."""
    content = saved(noise(800, 600).resize((8000, 6000)), "JPEG")
    (tmp_path / "source").write_bytes(content)
    measure = (
        "import sys; from pathlib import Path; from buildlog.photos.child import answer;"
        "answer(Path(sys.argv[1]), Path(sys.argv[2]), {'crop': [0.3, 0.3, 0.7, 0.7]});"
        "print(Path('/proc/self/status').read_text().partition('VmHWM:')[2].split()[0])"
    )

    told = subprocess.run(
        [sys.executable, "-c", measure, str(tmp_path / "source"), str(tmp_path)], check=True, capture_output=True
    )

    assert int(told.stdout) / 1024 < 150
    with Image.open(tmp_path / "large.jpg") as image:
        assert image.size == (1920, 1440)
