"""Mending one reading: the old figure stays, two people meet each other's words."""

import uuid

import pytest
from django.urls import reverse

from buildlog.actions.readings import amend_reading
from buildlog.models import Amendment, Reading
from buildlog.queries.readings import counting_widths
from tests.factories import NOON, PersonFactory, ReadingFactory


@pytest.fixture
def slip(hull):
    return ReadingFactory(
        build=hull.build, opening=hull.opening, strake=hull.strakes["1"], station=hull.stations[1],
        value_nm=4_670_000, typed="4.67", person=hull.person, instrument=hull.caliper, stage="cut",
    )  # fmt: skip


@pytest.fixture
def url(hull, slip):
    return reverse("reading-amend", args=[hull.build.uuid, slip.uuid])


def _post(act="replaces", **fields):
    return {"act": act, "reason": "swapped figures", "client_uuid": str(uuid.uuid4())} | fields


def _counts(hull):
    row = counting_widths(hull.opening).get((hull.strakes["1"].pk, hull.stations[1].pk))
    return row and (row.value_nm, row.doubt)


def test_page_shows_the_figure_that_was_read(client_of, owner, url):
    page = client_of(owner).get(url).content.decode()

    assert 'value="4.67"' in page
    assert "4.67 was read on 14 March 2026." in page


def test_figure_put_in_its_place_counts_and_the_old_one_stays(hull, client_of, owner, url, slip, clock):
    clock.forward(days=7)

    answer = client_of(owner).post(url, _post(figure="476"))

    assert answer.url == reverse("widths-saved", args=[hull.build.uuid, hull.strakes["1"].uuid])
    new = Reading.objects.get(amends__target=slip)
    assert (new.value_nm, new.happened_at, new.known_at) == (4_760_000, slip.happened_at, clock())
    assert (new.stage, new.instrument, new.station) == ("cut", hull.caliper, hull.stations[1])
    slip.refresh_from_db()
    assert slip.value_nm == 4_670_000
    assert _counts(hull) == (4_760_000, "")
    page = client_of(owner).get(answer.url).content.decode()
    assert "replaced by 476" in page


def test_girth_is_mended_as_a_girth_and_seen_among_the_girths(hull, client_of, owner):
    girth = ReadingFactory(build=hull.build, opening=hull.opening, station=hull.stations[1], kind="girth",
                           value_nm=24_910_000, typed="24.91", person=hull.person)  # fmt: skip
    browser = client_of(owner)
    there = reverse("reading-amend", args=[hull.build.uuid, girth.uuid])

    refused = browser.post(there, _post(figure="wide")).content.decode()
    answer = browser.post(there, _post(figure="25.01"))

    assert "girth at m" in refused.lower()
    assert "width at" not in refused.lower()
    assert answer.url == reverse("girth-list", args=[hull.build.uuid])
    assert "25.01" in browser.get(answer.url).content.decode()


@pytest.mark.parametrize(("act", "counts"), [("withdraws", None), ("doubts", (4_670_000, "swapped figures"))])
def test_reading_is_withdrawn_or_doubted_with_a_reason(hull, client_of, owner, url, act, counts):
    client_of(owner).post(url, _post(act))

    assert _counts(hull) == counts


def test_double_tap_is_one_amendment(client_of, owner, url):
    data, browser = _post(figure="4.76"), client_of(owner)

    answers = [browser.post(url, data).status_code for _ in range(2)]

    assert answers == [302, 302]
    assert (Amendment.objects.count(), Reading.objects.count()) == (1, 2)


def test_somebody_else_s_mending_is_shown_beside_mine(hull, client_of, owner, url, slip):
    marit = PersonFactory(build=hull.build, display_name="Marit")
    amend_reading(slip, act="withdraws", reason="read off the wrong plank", person=marit, now=NOON)

    answer = client_of(owner).post(url, _post(figure="4.76"))

    page = answer.content.decode()
    assert answer.status_code == 409
    for words in ("Marit", "read off the wrong plank", "4.76", "swapped figures"):
        assert words in page
    assert (Amendment.objects.count(), Reading.objects.count()) == (1, 1)


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"figure": "NaN"}, "is not read"),
        ({"figure": ""}, "Figure: write the one that should stand"),
        ({"figure": "4.76", "reason": " "}, "Why: write a few words"),
        ({"figure": "4.76", "act": "burns"}, "What to do: choose one of the three."),
        ({"figure": "4.76", "reason": "y" * 301}, "Why: at most 300 letters"),
    ],
    ids=["no figure", "empty", "no reason", "unknown act", "long reason"],
)
def test_mending_that_cannot_be_read_is_refused_and_stays_typed(client_of, owner, url, fields, sentence):
    data = _post() | fields

    page = client_of(owner).post(url, data).content.decode()

    assert sentence in page
    assert (data["figure"] or data["reason"]) in page
    assert Amendment.objects.count() == 0


def test_reading_of_another_build_is_not_found(client_of, stranger, slip):
    from tests.hulls import lay_down_hull

    other = lay_down_hull(stranger, name="Other")

    answer = client_of(stranger).post(reverse("reading-amend", args=[other.build.uuid, slip.uuid]), _post())

    assert answer.status_code == 404
