"""Turned, cut, drawn on: made anew by the job from an original that nobody touches."""

import io
import uuid
from datetime import UTC, datetime

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from buildlog.actions import photo_edits, photos
from buildlog.actions.conflict import NotPossible
from buildlog.jobs import photo as photo_job
from buildlog.jobs import worker
from buildlog.models import Event, Photo
from buildlog.photos import store
from buildlog.photos.refusals import refused
from tests.buildlog.photos.file_parts import SECRETS, full_metadata_jpeg

NOW = datetime(2026, 3, 14, 19, 30, tzinfo=UTC)
RED, GREEN, BLUE, WHITE = (210, 30, 30), (30, 160, 60), (30, 40, 200), (250, 250, 250)


def four_quarters(width=1600, height=1200) -> Image.Image:
    """Red and green above, blue and white below: every turn and every cut tells itself by its corners."""
    image = Image.new("RGB", (width, height))
    for colour, box in zip((RED, GREEN, BLUE, WHITE), ((0, 0), (1, 0), (0, 1), (1, 1)), strict=True):
        image.paste(colour, (box[0] * width // 2, box[1] * height // 2, (box[0] + 1) * width // 2,
                             (box[1] + 1) * height // 2))  # fmt: skip
    return image


@pytest.fixture(autouse=True)
def own_root(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "photos"


@pytest.fixture
def told(hull):
    return {"person": hull.person, "now": NOW}


@pytest.fixture
def photo(hull):
    return received(hull, full_metadata_jpeg(1, four_quarters()))


def received(hull, content):
    file = SimpleUploadedFile("IMG_2041.JPG", content)
    photo, _new = photos.receive_photo(hull.build, hull.person, client_uuid=uuid.uuid4(), file=file, now=NOW)
    worker.run_pending()
    photo.refresh_from_db()
    return photo


def shown(photo, size="large") -> Image.Image:
    worker.run_pending()
    photo.refresh_from_db()
    assert photo.state == "ready"
    return Image.open(io.BytesIO(store.path_of(photo.renditions.get(size=size).key).read_bytes()))


def corners(image) -> list:
    """Name the colour near each corner: above left, above right, below left, below right."""
    names = {RED: "red", GREEN: "green", BLUE: "blue", WHITE: "white"}
    points = [(0.1, 0.1), (0.9, 0.1), (0.1, 0.9), (0.9, 0.9)]
    found = [image.getpixel((int(x * image.width), int(y * image.height))) for x, y in points]
    return [names[min(names, key=lambda one: far(one, pixel))] for pixel in found]


def far(one, other) -> int:
    return sum(abs(a - b) for a, b in zip(one, other, strict=True))


def test_turned_a_quarter_and_back_to_the_original(photo, told):
    original = store.path_of(store.key_of(photo.sha256)).read_bytes()

    photo_edits.turn_photo(photo, 90, **told)
    picture = shown(photo)

    assert picture.size == (1200, 1600)
    assert corners(picture) == ["blue", "red", "white", "green"]
    assert (photo.width, photo.height) == (1200, 1600)
    photo_edits.undo_edits(photo, **told)
    assert corners(shown(photo)) == ["red", "green", "blue", "white"]
    assert photo.edits == {}
    assert store.path_of(store.key_of(photo.sha256)).read_bytes() == original


def test_four_quarters_are_no_edit(photo, told):
    for _quarter in range(4):
        photo_edits.turn_photo(photo, 90, **told)

    assert Photo.objects.get().edits == {}


def test_cut_keeps_its_part_when_it_is_turned_after(photo, told):
    photo_edits.crop_photo(photo, [0.5, 0, 1, 1], **told)
    assert corners(shown(photo)) == ["green", "green", "white", "white"]

    photo_edits.turn_photo(photo, 270, **told)
    assert corners(shown(photo)) == ["green", "white", "green", "white"]


@pytest.mark.parametrize("way", range(1, 9))
def test_cut_is_of_the_upright_picture_whichever_way_the_camera_was_held(hull, told, way):
    """The file is stored so that it stands upright as red, green, blue, white; the part above right is green."""
    back = {
        2: Image.Transpose.FLIP_LEFT_RIGHT, 3: Image.Transpose.ROTATE_180, 4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE, 6: Image.Transpose.ROTATE_90, 7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_270,
    }  # fmt: skip
    image = four_quarters()
    photo = received(hull, full_metadata_jpeg(way, image.transpose(back[way]) if way in back else image))
    assert corners(shown(photo)) == ["red", "green", "blue", "white"]

    photo_edits.crop_photo(photo, [0.55, 0.05, 0.95, 0.45], **told)

    assert corners(shown(photo)) == ["green"] * 4
    assert abs(photo.width - 640) <= 2
    assert abs(photo.height - 480) <= 2


def test_part_is_as_sharp_as_the_file_allows(hull, told):
    """A quarter of a picture of 6000 points still fills the largest rendition."""
    photo = received(hull, full_metadata_jpeg(1, four_quarters(6000, 4000)))

    photo_edits.crop_photo(photo, [0, 0, 0.4, 0.4], **told)

    assert shown(photo).size == (1920, 1280)


def test_published_files_are_stripped_after_an_edit_as_before(photo, told):
    photo_edits.crop_photo(photo, [0, 0, 0.5, 0.5], **told)
    shown(photo)

    for rendition in photo.renditions.all():
        made = store.path_of(rendition.key).read_bytes()
        assert [secret for secret in SECRETS if secret in made] == []
    assert photo.renditions.count() == 3


def test_nobody_is_shown_the_old_picture_once_a_part_is_cut_off(photo, told):
    photo_edits.crop_photo(photo, [0, 0, 0.5, 0.5], **told)

    assert Photo.objects.get().state == "received"


def test_edit_while_the_one_before_is_being_made_waits_for_its_own(photo, told):
    photo_edits.turn_photo(photo, 90, **told)
    seen = Photo.objects.get()
    photo_edits.crop_photo(photo, [0, 0, 0.5, 0.5], **told)

    photos.make_ready(seen, _made_of(photo))

    assert Photo.objects.get().state == "received"


def _made_of(photo):
    from buildlog.photos.derive import Rendition

    row = photo.renditions.get(size="large")
    kept = store.Kept(row.key, row.sha256, row.file_bytes)
    return [(Rendition("large", row.width, row.height, store.path_of(row.key)), kept)]


def test_edit_that_cannot_be_made_goes_back_and_the_original_stays(photo, told, monkeypatch):
    def refuse_edits(source, folder, name, edits):
        if edits:
            raise refused("too_hard", name)
        return true_derive(source, folder, name, edits)

    true_derive = photo_job.derive
    monkeypatch.setattr(photo_job, "derive", refuse_edits)
    photo_edits.crop_photo(photo, [0, 0, 0.5, 0.5], **told)

    assert corners(shown(photo)) == ["red", "green", "blue", "white"]
    assert (photo.edits, photo.refusal) == ({}, "")


@pytest.mark.parametrize(
    ("crop", "sentence"),
    [([0, 0, 1.2, 1], "over the edge"), ([-0.1, 0, 1, 1], "over the edge"), ([0.5, 0, 0.52, 1], "too small")],
)
def test_part_that_cannot_be_cut_is_refused(photo, told, crop, sentence):
    with pytest.raises(NotPossible, match=sentence):
        photo_edits.crop_photo(photo, crop, **told)


# Marks.


def mark(photo, told, kind="number", text="free edge"):
    photo_edits.add_mark(photo, kind=kind, place=(0.2, 0.2), to=(0.6, 0.7), text=text, **told)


def test_marks_count_on_and_are_counted_anew_when_one_is_taken_off(photo, told):
    for kind in ("number", "arrow", "ring"):
        mark(photo, told, kind, f"a {kind}")

    photo_edits.change_marks(photo, texts={1: "the rabbet"}, taken_off={2}, **told)

    told = [(one["n"], one["kind"], one["text"]) for one in photo.drawn]
    assert told == [(1, "number", "the rabbet"), (2, "ring", "a ring")]
    assert Event.objects.filter(verb="edited").count() == 4


def test_marks_stay_on_their_thing_when_the_picture_is_cut_and_turned(photo, told):
    mark(photo, told)
    photo_edits.crop_photo(photo, [0.5, 0.5, 1, 1], **told)
    one = Photo.objects.get().shown_marks[0]
    assert (one["to_x"], one["to_y"]) == (pytest.approx(0.2), pytest.approx(0.4))
    assert (one["x"], one["y"]) == (0, 0)

    photo_edits.turn_photo(photo, 90, **told)
    one = Photo.objects.get().shown_marks[0]
    assert (one["to_x"], one["to_y"]) == (pytest.approx(0.6), pytest.approx(0.2))


def test_mark_whose_thing_is_cut_off_is_not_shown_and_comes_back(photo, told):
    mark(photo, told)
    photo_edits.crop_photo(photo, [0, 0, 0.5, 0.5], **told)
    assert Photo.objects.get().shown_marks == []

    photo_edits.undo_edits(photo, **told)
    assert len(Photo.objects.get().shown_marks) == 1


def test_more_than_twenty_marks_are_refused(photo, told):
    Photo.objects.update(drawn=[{"n": n, "x": 0, "y": 0, "to_x": 0, "to_y": 0} for n in range(1, 21)])

    with pytest.raises(NotPossible, match="Twenty marks"):
        mark(photo, told)
