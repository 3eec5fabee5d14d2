"""An edge dressed after it was measured: told, seen, taken back."""

from datetime import timedelta

import pytest
from django.urls import reverse

from buildlog.actions.dressings import dress_edge, withdraw_dressing
from buildlog.measuring.openings import facts_of
from buildlog.models import EdgeDressed
from tests.hulls import LAID_DOWN

from .test_strakes import record

LATER = LAID_DOWN + timedelta(days=3)


@pytest.fixture
def post(hull, owner, client_of):
    url = reverse("edge-dressed", args=[hull.build.uuid, hull.strakes["1"].uuid])

    def post(first, last, note=""):
        return client_of(owner).post(url, {"from_station": first, "to_station": last, "note": note}, follow=True)

    return post


def test_dressed_edge_is_on_the_strake_page_and_asks_for_a_gap(hull, post):
    answer = post(hull.stations[0].uuid, hull.stations[1].uuid, "a proud seam")

    body = answer.content.decode()
    assert "F to M" in body
    assert "a proud seam" in body
    assert "A gap reading settles it" in body


def test_dressing_makes_the_widths_there_less_sure_and_no_others(hull):
    record(hull, 5_090_000)
    before = facts_of(hull.opening).widths[0].u_mm
    dressed = dress_edge(
        hull.strakes["1"], from_station=hull.stations[1], to_station=hull.stations[0], note="", person=hull.person,
        now=LATER,
    )  # fmt: skip

    after = facts_of(hull.opening).widths[0].u_mm
    as_known_before = facts_of(hull.opening, as_of=LATER - timedelta(hours=1)).widths[0].u_mm
    withdraw_dressing(dressed, person=hull.person, now=LATER + timedelta(days=1))

    # The doubt of a dressing is 0.05 mm, added as variances add (JCGM 100, 5.1.2).
    assert after == pytest.approx((before**2 + 0.05**2) ** 0.5)
    assert as_known_before == before
    assert facts_of(hull.opening).widths[0].u_mm == before
    assert facts_of(hull.opening, as_of=LATER).widths[0].u_mm == after


def test_dressing_taken_back_twice_says_so(hull, owner, client_of):
    dressed = dress_edge(
        hull.strakes["1"], from_station=hull.stations[0], to_station=hull.stations[1], note="", person=hull.person,
        now=LATER,
    )  # fmt: skip
    url = reverse("dressing-withdraw", args=[hull.build.uuid, dressed.uuid])

    client_of(owner).post(url)
    again = client_of(owner).post(url, follow=True).content.decode()

    assert "This was taken back already." in again
    assert EdgeDressed.objects.get().withdrawn_by == hull.person


def test_station_of_nowhere_is_named_and_the_note_kept(hull, post):
    answer = post("nowhere", hull.stations[1].uuid, "a proud seam").content.decode()

    assert "From: choose one of the strake" in answer
    assert "a proud seam" in answer
    assert not EdgeDressed.objects.exists()
