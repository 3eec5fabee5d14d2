"""Who may have which picture, and what its answer lets a browser do."""

import uuid
from datetime import UTC, datetime

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from buildlog.actions import photos
from buildlog.jobs import worker
from buildlog.models import Membership, Photo
from buildlog.photos import store
from tests.buildlog.photos.kit import full_metadata_jpeg, picture

NOW = datetime(2026, 3, 14, 19, 30, tzinfo=UTC)
CONTENT = full_metadata_jpeg(6, image=picture(800, 600))
SIZES = ("large", "middle", "small")


@pytest.fixture(autouse=True)
def own_root(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "photos"


@pytest.fixture
def received(hull):
    file = SimpleUploadedFile("<b>.jpg", CONTENT, content_type="text/html")
    return photos.receive_photo(hull.build, hull.person, client_uuid=uuid.uuid4(), file=file, now=NOW)[0]


@pytest.fixture
def photo(received):
    worker.run_pending()
    received.refresh_from_db()
    return received


def url_of(photo, size, build=None):
    return reverse("photo-serve", args=[(build or photo.build).uuid, photo.uuid, size])


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("role", ["owner", "builder", "helper", "reader"])
def test_everybody_of_the_build_sees_the_renditions(photo, client_of, request, role, size):
    response = client_of(request.getfixturevalue(role)).get(url_of(photo, size))

    assert response.status_code == 200
    assert response.content == store.path_of(photo.renditions.get(size=size).key).read_bytes()


@pytest.mark.parametrize("size", [*SIZES, "original"])
def test_stranger_is_told_that_there_is_nothing(photo, client_of, stranger, size):
    assert client_of(stranger).get(url_of(photo, size)).status_code == 404


@pytest.mark.parametrize("size", [*SIZES, "original"])
def test_nobody_signed_out_gets_a_byte(photo, client_of, size):
    response = client_of(None).get(url_of(photo, size))

    assert response.status_code == 302
    assert response.content == b""


def test_original_goes_to_the_owner_alone_as_a_file(photo, client_of, owner):
    response = client_of(owner).get(url_of(photo, "original"))

    assert b"".join(response.streaming_content) == CONTENT
    assert response["Content-Disposition"] == f'attachment; filename="{photo.uuid}.jpg"'


@pytest.mark.parametrize("role", ["builder", "helper", "reader"])
def test_original_with_the_place_in_it_is_kept_from_the_others(photo, client_of, request, role):
    assert client_of(request.getfixturevalue(role)).get(url_of(photo, "original")).status_code == 403


@pytest.mark.parametrize("size", [*SIZES, "original"])
def test_answer_lets_a_browser_do_nothing_but_show_it(photo, client_of, owner, size):
    response = client_of(owner).get(url_of(photo, size))

    response.close()
    told = {name: response[name] for name in GUARDS}
    assert told == GUARDS
    assert "b>" not in response["Content-Disposition"]


GUARDS = {
    "Content-Type": "image/jpeg",
    "X-Content-Type-Options": "nosniff",
    "Content-Security-Policy": "default-src 'none'; sandbox",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "private, no-cache",
}


def test_browser_that_has_it_is_told_so_and_still_guarded(photo, client_of, owner):
    browser = client_of(owner)
    tag = browser.get(url_of(photo, "small"))["ETag"]

    again = browser.get(url_of(photo, "small"), headers={"If-None-Match": tag})

    assert (again.status_code, again.content) == (304, b"")
    assert again["Cache-Control"] == "private, no-cache"


def test_right_taken_back_ends_with_the_next_request_though_the_browser_has_it(photo, client_of, reader):
    browser = client_of(reader)
    tag = browser.get(url_of(photo, "small"))["ETag"]
    Membership.objects.filter(account=reader).delete()

    again = browser.get(url_of(photo, "small"), headers={"If-None-Match": tag})

    assert again.status_code == 404


def test_photo_not_ready_is_not_shown(received, client_of, owner):
    assert client_of(owner).get(url_of(received, "small")).status_code == 404
    Photo.objects.update(state="refused")
    assert client_of(owner).get(url_of(received, "small")).status_code == 404


def test_photo_of_another_build_is_not_found_through_ones_own(photo, client_of, builder):
    from tests.hulls import lay_down_hull

    own = lay_down_hull(builder, name="Another hull").build

    assert client_of(builder).get(url_of(photo, "small", build=own)).status_code == 404


def test_photo_taken_out_is_gone_for_all_but_the_owner(photo, client_of, owner, reader):
    Photo.objects.update(taken_out_at=NOW)

    assert client_of(reader).get(url_of(photo, "small")).status_code == 404
    assert client_of(owner).get(url_of(photo, "small")).status_code == 200


@pytest.mark.parametrize("size", ["huge", "large.jpg", "..", "LARGE", "1920"])
def test_size_that_is_none_of_ours_is_not_found(photo, client_of, owner, size):
    assert client_of(owner).get(url_of(photo, size)).status_code == 404


def test_file_that_went_missing_is_not_found_and_nothing_breaks(photo, client_of, owner):
    store.path_of(photo.renditions.get(size="small").key).unlink()

    assert client_of(owner).get(url_of(photo, "small")).status_code == 404


@pytest.mark.parametrize("method", ["post", "put", "delete", "patch"])
def test_photo_is_only_ever_asked_for(photo, client_of, owner, method):
    assert getattr(client_of(owner), method)(url_of(photo, "small")).status_code == 405
