"""Series from one place: named once, stepped through in order, the next taken beside the last."""

import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from buildlog.jobs import worker
from buildlog.models import Photo, PhotoSeries
from tests import factories
from tests.buildlog.photos.file_parts import picture, saved


@pytest.fixture(autouse=True)
def own_root(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "photos"


@pytest.fixture
def series(hull):
    return factories.PhotoSeriesFactory(build=hull.build, name="From the bow")


def url(name, series):
    return reverse(name, args=[series.build.uuid, series.uuid])


def photo(series, taken, **fields):
    told = {"build": series.build, "state": "ready", "width": 1600, "height": 1200, "series": series}
    return factories.PhotoFactory(taken_local=taken, **told | fields)


def test_series_is_begun_by_its_name_and_no_name_stands_twice(hull, client_of, helper):
    address = reverse("photo-series-new", args=[hull.build.uuid])
    assert client_of(helper).post(address, {"name": "  Port   quarter "}).status_code == 302
    assert PhotoSeries.objects.get().name == "Port quarter"

    again = client_of(helper).post(address, {"name": "Port quarter"}).content.decode()
    assert "stands already" in again
    assert 'value="Port quarter"' in again


@pytest.mark.parametrize("name", ["", "   ", "x" * 81])
def test_series_without_a_fit_name_is_refused(hull, client_of, owner, name):
    response = client_of(owner).post(reverse("photo-series-new", args=[hull.build.uuid]), {"name": name})

    assert response.status_code == 200
    assert PhotoSeries.objects.count() == 0


def test_series_is_renamed(series, client_of, owner):
    client_of(owner).post(url("photo-series-name", series), {"name": "From the stern"})

    assert PhotoSeries.objects.get().name == "From the stern"


def test_series_is_stepped_through_by_time_and_hides_what_is_taken_out(series, client_of, reader):
    last, first = photo(series, "2026-03-02T10:00:00"), photo(series, "2026-02-01T10:00:00")
    photo(series, "2026-02-15T10:00:00", taken_out_at=factories.NOON)
    browser = client_of(reader)

    newest = browser.get(url("photo-series-detail", series)).content.decode()
    assert "2 of 2" in newest
    assert f'rel="prev" href="?at={first.uuid}"' in newest
    oldest = browser.get(url("photo-series-detail", series), {"at": first.uuid}).content.decode()
    assert "1 of 2" in oldest
    assert f'rel="next" href="?at={last.uuid}"' in oldest
    assert browser.get(url("photo-series-detail", series), {"at": "nonsense"}).status_code == 200


def test_next_one_is_taken_beside_the_last(series, client_of, helper):
    last = photo(series, "2026-03-02T10:00:00")

    page = client_of(helper).get(url("photo-series-next", series)).content.decode()

    assert reverse("photo-serve", args=[series.build.uuid, last.uuid, "large"]) in page
    assert "line the next up by it" in page


def test_photograph_without_a_time_is_of_now_in_its_series(series, clock, client_of, helper):
    file = SimpleUploadedFile("taken-here.jpg", saved(picture(), "JPEG"))

    response = client_of(helper).post(url("photo-series-add", series), {"batch": uuid.uuid4(), "photos": file})

    kept = Photo.objects.get()
    worker.run_pending()
    assert response.status_code == 302
    assert (kept.series, kept.taken_local[:10], kept.session is not None) == (series, "2026-03-14", True)


def test_photograph_that_waited_on_a_phone_is_of_the_evening_it_was_taken(series, clock, client_of, helper):
    file = SimpleUploadedFile("taken-here.jpg", saved(picture(), "JPEG"))
    item, two_days = str(uuid.uuid4()), 2 * 24 * 3600

    answer = client_of(helper).post(
        url("photo-series-add", series), {"batch": uuid.uuid4(), "photos": file},
        headers={"Accept": "application/json", "X-Waiting-Item": item, "X-Waited": str(two_days)},
    )  # fmt: skip

    kept = Photo.objects.get()
    assert answer.status_code == 201
    assert answer.json()["client_uuid"] == item
    assert answer.json()["next"] == url("photo-series-next", series)
    assert (kept.series, kept.taken_local[:10]) == (series, "2026-03-12")
    assert str(kept.session.local_date) == "2026-03-12"


def test_phone_is_told_why_a_file_will_not_do(series, client_of, owner):
    headers = {"Accept": "application/json", "X-Waiting-Item": str(uuid.uuid4())}
    browser, address = client_of(owner), url("photo-series-add", series)

    none = browser.post(address, {"batch": uuid.uuid4()}, headers=headers)
    file = SimpleUploadedFile("plan.pdf", b"%PDF-1.7")
    wrong = browser.post(address, {"batch": uuid.uuid4(), "photos": file}, headers=headers)

    assert (none.status_code, wrong.status_code) == (422, 422)
    assert none.json()["sentence"] == "Choose the photograph, or take it."
    assert "inside it is a PDF document" in wrong.json()["sentence"]


def test_file_that_is_no_photograph_is_named(series, client_of, owner):
    file = SimpleUploadedFile("plan.pdf", b"%PDF-1.7")

    answer = client_of(owner).post(url("photo-series-add", series), {"batch": uuid.uuid4(), "photos": file})
    page = answer.content.decode()

    assert "<b>plan.pdf</b> is not kept: inside it is a PDF document" in page
    assert Photo.objects.count() == 0


def test_nothing_chosen_says_so(series, client_of, owner):
    page = client_of(owner).post(url("photo-series-add", series), {"batch": uuid.uuid4()}).content.decode()

    assert "Choose the photograph, or take it." in page


def test_same_file_again_is_put_into_the_series_and_not_kept_twice(series, client_of, owner):
    content = saved(picture(), "JPEG")
    address = url("photo-series-add", series)
    for name in ("one.jpg", "two.jpg"):
        file = SimpleUploadedFile(name, content)
        said = client_of(owner).post(address, {"batch": uuid.uuid4(), "photos": file}, follow=True).content.decode()

    assert "two.jpg was in the log already" in said
    assert Photo.objects.count() == 1


def test_pages_cost_the_same_for_one_and_for_three(series, client_of, reader):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    browser, counts = client_of(reader), []
    for _count in (1, 3):
        photo(series, "2026-03-02T10:00:00")
        with CaptureQueriesContext(connection) as caught:
            browser.get(url("photo-series-detail", series))
        counts.append(len(caught))
        photo(series, "2026-03-03T10:00:00")

    assert counts[0] == counts[1]
