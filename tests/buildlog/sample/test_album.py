"""The sample's pictures: drawn, handed in as a phone would, made ready without what a camera adds."""

import io

import pytest
from PIL import Image

from buildlog.jobs.worker import run_pending
from buildlog.models import Photo
from buildlog.photos import store
from buildlog.queries.links import shared_photos
from buildlog.sample import album, drawings
from buildlog.sample.story import THE_END, tell_story


@pytest.fixture
def told(owner, settings, tmp_path):
    settings.DATA_DIR, settings.MEDIA_ROOT = tmp_path, tmp_path / "photos"
    build = tell_story(owner, until=THE_END, pictures=True)
    run_pending()
    return build


def test_pictures_are_ready_clean_and_shared_only_where_they_may_be(told):
    """One telling for all of it, since it makes thirty-nine renditions."""
    photos = list(Photo.objects.filter(build=told))
    planted = next(photo for photo in photos if photo.file_name.startswith("battens"))
    with Image.open(store.path_of(store.key_of(planted.sha256))) as original:
        assert original.getexif().get_ifd(0x8825), "the position was to be planted"

    published = [r for photo in photos for r in photo.renditions.all()]
    left_in = []
    for rendition in published:
        with Image.open(io.BytesIO(store.path_of(rendition.key).read_bytes())) as shown:
            left_in += list(dict(shown.getexif()))
    shown = {photo.file_name for photo in shared_photos(told)}

    assert len(photos) == len(album.ALBUM)
    assert {photo.state for photo in photos} == {"ready"}
    assert all(photo.caption and photo.alt and photo.marks.exists() and photo.taken_local for photo in photos)
    assert len(published) == 3 * len(photos)
    assert left_in == []
    assert "battens.jpg" in shown
    assert "letter.jpg" not in shown


@pytest.mark.parametrize("name", ["bilge-gap", "caliper-check"])
def test_the_code_still_draws_the_pictures_that_are_kept(name):
    import numpy as np

    drawn = np.asarray(drawings.vignette(drawings.PICTURES[name]()).resize((80, 56)), dtype=float)
    with Image.open(drawings.FOLDER / f"{name}.jpg") as kept:
        kept = np.asarray(kept.convert("RGB").resize((80, 56)), dtype=float)

    assert abs(drawn - kept).mean() < 4
