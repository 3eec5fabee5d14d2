"""Share links, for the owner."""

import pytest
from django.urls import reverse

from buildlog.actions import links
from buildlog.models import Photo, ShareLink
from tests.factories import PhotoFactory, SessionFactory


@pytest.fixture
def browser(owner, client_of):
    return client_of(owner)


def at(name, hull, *more):
    return reverse(name, args=[hull.build.uuid, *more])


def test_a_link_is_made_and_shown_with_its_address(hull, browser):
    answer = browser.post(at("link-new", hull), {"name": "The club", "hull": "on"}, follow=True)

    link = ShareLink.objects.get()
    assert link.shows == {"hull": True, "numbers": False}
    assert reverse("club", args=[links.token_of(link)]) in answer.content.decode()


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"name": ""}, "Name: say who the link is for."),
        ({"name": "Club", "last_day": "soon"}, "Opens until: write the day as"),
        ({"name": "Club", "last_day": "2020-01-01"}, "Opens until: that day is past."),
        ({"name": "Club", "last_day": "9999-12-31"}, "Opens until: a link opens until 2200 at the longest."),
    ],
    ids=["no name", "no day", "past day", "after 2200"],
)
def test_a_link_told_wrongly_keeps_what_was_typed(hull, browser, typed, said):
    body = browser.post(at("link-new", hull), typed).content.decode()

    assert said in body
    assert all(value in body for value in typed.values())
    assert not ShareLink.objects.exists()


@pytest.mark.parametrize(
    ("deed", "state"),
    [("pause", "paused"), ("revoke", "revoked"), ("renew", "opens")],
)
def test_each_deed_shows_its_state(hull, browser, clock, deed, state):
    link = links.make_link(hull.build, name="The club", person=hull.person, now=clock())

    body = browser.post(at(f"link-{deed}", hull, link.uuid), follow=True).content.decode()

    assert f'<p class="lead">{state}' in body


def test_a_revoked_link_stays_revoked(hull, browser, clock):
    link = links.make_link(hull.build, name="The club", person=hull.person, now=clock())
    browser.post(at("link-revoke", hull, link.uuid))

    body = browser.post(at("link-open", hull, link.uuid), follow=True).content.decode()

    assert "This link was revoked; make a new one." in body
    link.refresh_from_db()
    assert link.revoked_at is not None


def test_only_what_is_ticked_is_shared(hull, browser):
    shown = SessionFactory(build=hull.build, note="shown")
    kept = SessionFactory(build=hull.build, note="kept", shared=True)
    photo = PhotoFactory(build=hull.build, session=shown)
    left_alone = PhotoFactory(build=hull.build, session=shown, shared=True)

    browser.post(
        at("share-list", hull),
        {"on_page": [shown.uuid, kept.uuid, photo.uuid], "shared": [shown.uuid, photo.uuid]},
    )

    for row, shared in [(shown, True), (kept, False), (photo, True), (left_alone, True)]:
        row.refresh_from_db()
        assert row.shared is shared


def test_a_photograph_of_another_build_cannot_be_shared_from_here(hull, browser):
    other = PhotoFactory()

    browser.post(at("share-list", hull), {"on_page": [other.uuid], "shared": [other.uuid]})

    assert not Photo.objects.get(pk=other.pk).shared
