"""The sample's pictures: handed in as a phone would, made ready without what a camera adds, told in words."""

import io
import re
from datetime import date

import pytest
from django.core.management import call_command
from PIL import Image

from buildlog.jobs.worker import run_pending
from buildlog.models import Photo
from buildlog.photos import store
from buildlog.queries.links import shared_photos
from buildlog.sample import album
from buildlog.sample.story import THE_END, tell_story

GPS = 0x8825


@pytest.fixture
def told(owner, settings, tmp_path):
    settings.DATA_DIR, settings.MEDIA_ROOT = tmp_path, tmp_path / "photos"
    build = tell_story(owner, until=THE_END, pictures=True)
    run_pending()
    return build


def test_pictures_are_ready_clean_and_shared_only_where_they_may_be(told):
    """One telling for all of it, since it makes fifty-four renditions."""
    photos = list(Photo.objects.filter(build=told))
    planted = next(photo for photo in photos if photo.file_name == "battens.jpg")
    with Image.open(store.path_of(store.key_of(planted.sha256))) as original:
        assert original.getexif().get_ifd(GPS), "the position was to be planted"

    published = [r for photo in photos for r in photo.renditions.all()]
    left_in = []
    for rendition in published:
        with Image.open(io.BytesIO(store.path_of(rendition.key).read_bytes())) as shown:
            left_in += list(dict(shown.getexif()))
    shown = {photo.file_name for photo in shared_photos(told)}

    assert len(photos) == len(album.ALBUM) >= 14
    assert {photo.state for photo in photos} == {"ready"}
    assert all(photo.caption and photo.alt and photo.marks.exists() for photo in photos)
    assert {date.fromisoformat(p.taken_local[:10]) == p.session.local_date for p in photos} == {True}
    assert len(published) == 3 * len(photos)
    assert left_in == []
    # The place is in the file and the address on the envelope: neither is shown before somebody has looked.
    assert {photo.file_name for photo in photos} - shown == {"battens.jpg", "letter.jpg", "caliper-check.jpg"}


def test_story_without_pictures_receives_none(owner):
    assert not tell_story(owner).photos.exists()


def test_words_of_every_picture_name_its_side_and_its_strakes():
    lacking = []
    for picture in album.ALBUM:
        words = re.findall(r"\w+", f"{picture.caption} {picture.alt}".lower())
        lacking += [(picture.file, word) for word in picture.strakes if word not in words]
        lacking += [(picture.file, picture.side)] if picture.strakes and picture.side not in words else []

    assert lacking == []


def test_every_picture_that_is_kept_is_hung_and_all_are_light_enough():
    kept = {path.stem: path.stat().st_size for path in album.FOLDER.glob("*.jpg")}

    assert set(kept) == {picture.file for picture in album.ALBUM}
    assert sum(kept.values()) < 3_000_000


def test_loading_the_sample_ends_with_photographs_ready_and_a_link(owner, settings, tmp_path):
    settings.DATA_DIR, settings.MEDIA_ROOT = tmp_path, tmp_path / "photos"
    said = io.StringIO()

    call_command("load_sample", owner.sign_in_name, stdout=said)

    build = owner.memberships.get().build
    ready = build.photos.filter(state="ready").count()
    assert ready == build.photos.count() > 0
    assert f"Photograph {ready} of {ready} is ready." in said.getvalue()
    assert [link.name for link in build.links.all()] == ["Nettlebank Planking Circle"]
