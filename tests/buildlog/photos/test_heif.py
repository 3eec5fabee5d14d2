"""HEIC where the optional library is: opened, upright, stripped. Without it, test_check says what a person is told."""

import io

import pytest
from PIL import Image

from buildlog.photos import child
from buildlog.photos.check import check
from tests.buildlog.photos.file_parts import SECRETS, exif_block, picture


@pytest.fixture
def heic() -> bytes:
    """A true HEIC file, as a phone writes it: with its place, its owner and the way it was held in its notes."""
    pillow_heif = pytest.importorskip("pillow_heif", reason="pillow-heif is an optional library")
    out = io.BytesIO()
    pillow_heif.from_pillow(picture(640, 480)).save(out, quality=90, exif=b"Exif\0\0" + exif_block(6))
    return out.getvalue()


def test_heic_is_kept_made_ready_and_stripped(heic, tmp_path):
    file = io.BytesIO(heic)
    file.name = "IMG_0001.HEIC"
    checked = check(file)
    assert (checked.kind, checked.content_type, checked.width * checked.height) == ("HEIF", "image/heic", 640 * 480)
    (tmp_path / "source").write_bytes(heic)

    told = child.answer(tmp_path / "source", tmp_path)

    assert set(told["made"]) == {"large", "middle", "small"}
    for size in told["made"]:
        made = (tmp_path / f"{size}.jpg").read_bytes()
        assert [secret for secret in SECRETS if secret in made] == []
        assert dict(Image.open(io.BytesIO(made)).getexif()) == {}


def test_heic_under_a_jpeg_name_is_opened_all_the_same(heic, tmp_path):
    file = io.BytesIO(heic)
    file.name = "IMG_0001.JPG"

    assert check(file).kind == "HEIF"


def test_heic_is_cut_as_any_other(heic, tmp_path):
    (tmp_path / "source").write_bytes(heic)
    whole = child.answer(tmp_path / "source", tmp_path)["made"]["large"]

    part = child.answer(tmp_path / "source", tmp_path, {"crop": [0, 0, 0.5, 0.5]})["made"]["large"]

    assert [abs(2 * one - other) <= 2 for one, other in zip(part, whole, strict=True)] == [True, True]


def test_heic_that_breaks_off_is_refused_in_a_sentence(heic, tmp_path):
    (tmp_path / "source").write_bytes(heic[: len(heic) * 2 // 3])

    assert child.answer(tmp_path / "source", tmp_path)["reason"] in ("cut_short", "damaged")
