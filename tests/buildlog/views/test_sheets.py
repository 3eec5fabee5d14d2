"""Choosing the photographed sheet that an entry is typed off."""

import pytest
from django.urls import reverse

from tests.factories import NOON, PhotoFactory


@pytest.fixture
def url(hull):
    return reverse("sheet-list", args=[hull.build.uuid, hull.strakes["1"].uuid])


def test_page_offers_the_photographs_of_the_build_that_can_be_looked_at(hull, client_of, owner, url):
    shown = PhotoFactory(build=hull.build, state="ready")
    kept_back = [
        PhotoFactory(build=hull.build, state="received"),
        PhotoFactory(build=hull.build, state="ready", taken_out_at=NOON), PhotoFactory(state="ready"),
    ]  # fmt: skip

    page = client_of(owner).get(url).content.decode()

    assert f"/widths/?sheet={shown.uuid}" in page
    assert not any(str(photo.uuid) in page for photo in kept_back)


def test_page_without_a_photograph_says_how_to_take_one(client_of, owner, url):
    assert "Photograph the sheet first" in client_of(owner).get(url).content.decode()


def test_stranger_and_reader_do_not_come_here(client_of, stranger, reader, url):
    assert client_of(stranger).get(url).status_code == 404
    assert client_of(reader).get(url).status_code == 403


def test_page_holds_one_query_count_with_one_and_three_photographs(
    hull, client_of, owner, url, django_assert_max_num_queries
):
    browser = client_of(owner)
    PhotoFactory(build=hull.build, state="ready")
    browser.get(url)
    with django_assert_max_num_queries(40) as first:
        browser.get(url)
    for _ in range(2):
        PhotoFactory(build=hull.build, state="ready")
    with django_assert_max_num_queries(len(first)):
        browser.get(url)
