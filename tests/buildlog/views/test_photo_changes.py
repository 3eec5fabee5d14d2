"""A slate, a clock, and taking back: shown first, done by a second press."""

from datetime import date

import pytest
from django.urls import reverse

from buildlog.models import Photo, PhotoChange
from tests import factories


@pytest.fixture
def session(hull):
    return factories.SessionFactory(build=hull.build, local_date=date(2026, 3, 14), opened_at=factories.NOON)


@pytest.fixture
def photos(hull):
    """A slate and two after it."""
    told = {"build": hull.build, "person": hull.person, "camera": "Bench Camera 3", "state": "ready"}
    times = ("2026-03-14T19:00:00", "2026-03-14T19:05:00", "2026-03-14T19:10:00")
    return [factories.PhotoFactory(taken_local=time, file_name=f"IMG_{n}.JPG", **told) for n, time in enumerate(times)]


def url(name, build, *more):
    return reverse(name, args=[build.uuid, *more])


def test_slate_is_shown_before_it_is_done_and_one_may_be_left_out(hull, session, photos, client_of, helper):
    address = url("photo-slate", hull.build, photos[0].uuid)
    page = client_of(helper).get(address)
    assert page.content.decode().count('name="photo"') == 2
    assert Photo.objects.filter(session=session).count() == 0

    sent = {"session": session.uuid, "strake": hull.strakes["2"].uuid, "photo": [photos[1].uuid]}
    client_of(helper).post(address, sent)

    assert list(Photo.objects.filter(session=session)) == photos[:2]


def test_slate_that_says_nothing_keeps_what_was_ticked(hull, photos, client_of, owner):
    response = client_of(owner).post(url("photo-slate", hull.build, photos[0].uuid), {"photo": [photos[2].uuid]})

    page = response.content.decode()
    assert "Choose the session, the strake, or both." in page
    assert page.count("checked") == 1


def test_slate_without_a_time_says_so(hull, client_of, owner):
    slate = factories.PhotoFactory(build=hull.build)

    page = client_of(owner).get(url("photo-slate", hull.build, slate.uuid)).content.decode()

    assert "tells no time" in page


def test_slate_of_a_session_of_another_build_is_refused(hull, photos, client_of, owner):
    other = factories.SessionFactory()

    response = client_of(owner).post(url("photo-slate", hull.build, photos[0].uuid), {"session": other.uuid})

    assert response.status_code == 200
    assert PhotoChange.objects.count() == 0


def test_clock_is_shown_before_it_is_done(hull, photos, client_of, helper):
    address = url("photo-clock", hull.build)
    assert "Bench Camera 3" in client_of(helper).get(address).content.decode()
    page = client_of(helper).get(address, {"camera": "Bench Camera 3"}).content.decode()
    assert page.count('name="photo"') == 3
    sent = {"photo": [one.uuid for one in photos], "way": "late", "hours": "1", "minutes": "12"}

    preview = client_of(helper).post(address, sent).content.decode()
    assert "14 Mar 2026, 20:12" in preview
    assert Photo.objects.get(pk=photos[0].pk).taken_local == "2026-03-14T19:00:00"

    client_of(helper).post(address, sent | {"sure": "yes"})
    assert list(Photo.objects.order_by("pk").values_list("taken_local", flat=True)) == [
        "2026-03-14T20:12:00", "2026-03-14T20:17:00", "2026-03-14T20:22:00",
    ]  # fmt: skip


def test_clock_that_was_early_is_taken_off(hull, photos, client_of, owner):
    sent = {"photo": [photos[0].uuid], "way": "early", "days": "1", "sure": "yes"}

    client_of(owner).post(url("photo-clock", hull.build), sent)

    assert Photo.objects.get(pk=photos[0].pk).taken_local == "2026-03-13T19:00:00"


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({}, "Say by how much the clock was late or early."),
        ({"hours": "1.5"}, "a whole number from 0 to 999"),
        ({"hours": "-3"}, "a whole number from 0 to 999"),
        ({"minutes": "75"}, "a whole number from 0 to 59"),
        ({"days": "9999", "way": "early", "hours": "999"}, ""),
        ({"days": "9999", "way": "early"}, ""),
    ],
)
def test_clock_that_cannot_be_keeps_what_was_typed(hull, photos, client_of, owner, fields, sentence):
    sent = {"photo": [photos[0].uuid], "way": "late", "sure": "yes"} | fields
    if not sentence:
        Photo.objects.update(taken_local="1995-01-01T00:00:00")
        sentence = "before 1990 or after 2200"

    response = client_of(owner).post(url("photo-clock", hull.build), sent)

    assert response.status_code == 200
    assert sentence in response.content.decode()
    assert PhotoChange.objects.count() == 0


@pytest.mark.parametrize("ticked", [[], ["not-a-uuid"], ["00000000-0000-0000-0000-000000000000"]])
def test_clock_of_nothing_says_what_to_tick(hull, photos, client_of, owner, ticked):
    response = client_of(owner).post(url("photo-clock", hull.build), {"photo": ticked, "hours": "1", "way": "late"})

    assert response.status_code == 200
    assert "None of the photographs that were ticked" in response.content.decode()


def test_change_is_taken_back_by_one_button_in_the_list(hull, session, photos, client_of, owner):
    browser = client_of(owner)
    browser.post(url("photo-label", hull.build), {"photo": [one.uuid for one in photos], "caption": "clamped"})
    change = PhotoChange.objects.get()
    undo = url("photo-change-undo", hull.build, change.uuid)
    assert undo in browser.get(url("photo-list", hull.build)).content.decode()

    browser.post(undo)
    assert set(Photo.objects.values_list("caption", flat=True)) == {""}
    assert undo not in browser.get(url("photo-list", hull.build)).content.decode()
    assert "taken back already" in browser.post(undo, follow=True).content.decode()


def test_reader_may_not_and_stranger_finds_nothing(hull, photos, client_of, reader, stranger):
    for name, more in (("photo-slate", [photos[0].uuid]), ("photo-clock", [])):
        assert client_of(reader).get(url(name, hull.build, *more)).status_code == 403
        assert client_of(stranger).get(url(name, hull.build, *more)).status_code == 404
