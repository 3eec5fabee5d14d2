"""The club page: what was shared, by links that open; and nothing else, in page, file, feed or photograph."""

import re
import xml.etree.ElementTree as ElementTree
from datetime import date, timedelta

import pytest
from django.urls import reverse

from buildlog.actions import links
from buildlog.models import Build, Mishap, Tip
from tests.factories import NOON, PhotoFactory, SessionFactory
from tests.hulls import LAID_DOWN, hang, lay_down_hull

PAGES = ["club", "club-file", "club-feed"]


@pytest.fixture
def link(hull, clock):
    return links.make_link(hull.build, name="The club", person=hull.person, now=clock())


@pytest.fixture
def club(client, link):
    return lambda name="club", **extra: client.get(reverse(name, args=[links.token_of(link)]), **extra)


def shared_session(hull, **fields):
    fields = {"note": "seen by the club", "shared": True, **fields}
    return SessionFactory(build=hull.build, by=hull.person, local_date=date(2026, 3, 9), **fields)


@pytest.mark.parametrize("name", PAGES)
def test_a_link_shows_what_was_shared_and_nothing_else(hull, club, name):
    hull.person.display_name = "Ann Bell"
    hull.person.save()
    seen = shared_session(hull)
    SessionFactory(build=hull.build, by=hull.person, note="kept to myself")
    Tip.objects.create(session=seen, person=hull.person, text="tip kept", written_at=NOON)
    Mishap.objects.create(session=seen, person=hull.person, text="mishap kept", written_at=NOON)

    body = club(name).content.decode()

    assert "seen by the club" in body
    for private in ("kept to myself", "tip kept", "mishap kept", "Ann Bell", str(hull.build.uuid) + "/"):
        assert private not in body


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("end", ["pause", "revoke", "renew", "expire"])
def test_an_ended_link_opens_nothing_from_the_next_request_on(hull, link, clock, client, name, end):
    url = reverse(name, args=[links.token_of(link)])
    assert client.get(url).status_code == 200

    if end == "expire":
        link.expires_at = clock() + timedelta(hours=1)
        link.save()
        clock.forward(hours=1)
    else:
        getattr(links, f"{end}_link")(link, person=hull.person, now=clock())

    assert client.get(url).status_code == 404


def test_a_paused_link_can_be_opened_again(hull, link, club, clock):
    links.pause_link(link, person=hull.person, now=clock())
    links.open_link(link, person=hull.person, now=clock())

    assert club().status_code == 200


def test_the_database_holds_no_token(link):
    assert links.token_of(link) not in [str(value) for value in vars(link).values()]
    assert len(links.token_of(link)) == 43


def test_two_links_have_two_tokens_and_a_new_generation_another(hull, link, clock):
    other = links.make_link(hull.build, name="A friend", person=hull.person, now=clock())
    before = links.token_of(link)

    links.renew_link(link, person=hull.person, now=clock())

    assert len({before, links.token_of(link), links.token_of(other)}) == 3


def test_wrong_tokens_are_made_to_wait(client, db):
    statuses = {client.get(reverse("club", args=[f"wrong{n}" * 5])).status_code for n in range(40)}

    assert statuses == {404, 429}


def test_nothing_can_be_posted_with_a_link(client, link):
    for name in PAGES:
        assert client.post(reverse(name, args=[links.token_of(link)])).status_code == 405


def test_a_photograph_not_shared_is_not_found(hull, link, client):
    token = links.token_of(link)
    session = shared_session(hull)
    private = PhotoFactory(build=hull.build, session=session, state="ready", shared=False)
    of_private_session = PhotoFactory(
        build=hull.build, session=SessionFactory(build=hull.build), state="ready", shared=True
    )

    for photo in (private, of_private_session):
        for size in ("large", "middle", "small", "original"):
            assert client.get(reverse("club-photo", args=[token, photo.uuid, size])).status_code == 404


def test_a_name_is_shown_only_by_leave(hull, club):
    shared_session(hull)
    hull.person.display_name = "Ann Bell"
    hull.person.save()
    assert "Ann Bell" not in club().content.decode()

    hull.person.name_consent = True
    hull.person.save()

    assert "Ann Bell" in club().content.decode()


def test_the_first_picture_of_the_page_comes_at_once(hull, club):
    session = shared_session(hull)
    for caption in ("one", "two"):
        PhotoFactory(build=hull.build, session=session, state="ready", shared=True, caption=caption, alt=caption,
                     width=800, height=600)  # fmt: skip

    pictures = re.findall(r"<img[^>]*>", club().content.decode())

    assert len(pictures) > 1
    assert "lazy" not in pictures[0]
    assert all("lazy" in one for one in pictures[1:])


def test_the_saved_file_is_whole_dated_and_without_script(hull, club):
    shared_session(hull)

    answer = club("club-file")
    body = answer.content.decode()

    assert answer["Content-Disposition"].startswith("attachment")
    assert "<script" not in body
    assert "http://" not in body.replace("http://www.w3.org/", "")
    assert "cannot be called back" in body
    assert "14 March 2026" in body
    assert len(answer.content) < 10_000_000
    assert "sha256-" in body


def test_what_is_new_since_one_looked_is_counted(hull, club, clock, client):
    club()
    clock.forward(days=1)
    shared_session(hull, opened_at=clock(), known_at=clock())
    clock.forward(hours=1)

    body = club().content.decode()

    assert "New since you looked" in body
    assert "1 session" in body


def test_the_feed_names_the_sessions(hull, club):
    shared_session(hull)

    answer = club("club-feed")

    assert answer["Content-Type"].startswith("application/atom+xml")
    assert "<entry>" in answer.content.decode()


ODD_SIGNS = "".join(map(chr, [*range(1, 9), 11, 12, *range(14, 32), 0xFFFE, 0xFFFF]))


def test_the_feed_drops_signs_that_no_feed_may_hold_and_keeps_the_rest(hull, link, client):
    Build.objects.update(name=f"Hull{ODD_SIGNS} of 1850", story=f"a{ODD_SIGNS}b")
    hull.person.display_name = f"Ann{ODD_SIGNS} Bell"
    hull.person.save()
    shared_session(hull, note=f"Tongs{ODD_SIGNS} slipped\tat M\nand again")

    for name in PAGES:
        assert client.get(reverse(name, args=[links.token_of(link)])).status_code == 200, name
    feed = ElementTree.fromstring(client.get(reverse("club-feed", args=[links.token_of(link)])).content)

    told = [each.text for each in feed.iter() if each.text]
    assert {"Hull of 1850", "Tongs slipped\tat M\nand again"} <= set(told)


def test_numbers_can_be_kept_back(hull, client, clock):
    quiet = links.make_link(
        hull.build, name="Quiet", person=hull.person, now=clock(), shows={"hull": False, "numbers": False}
    )

    body = client.get(reverse("club", args=[links.token_of(quiet)])).content.decode()

    assert "The hull so far" not in body


def test_a_day_is_told_with_all_that_hung_by_its_end(hull, club):
    """Strake 1 hung at nine in the evening of the first day, when its session had long been opened: 4 of 5 are left."""
    hang(hull, "1", LAID_DOWN + timedelta(hours=12))
    for day in range(5):
        at = LAID_DOWN + timedelta(days=day)
        SessionFactory(build=hull.build, by=hull.person, shared=True, note=f"day {day}", local_date=at.date(),
                       opened_at=at, closed_at=at + timedelta(hours=1), known_at=at)  # fmt: skip
    hang(hull, "5", LAID_DOWN + timedelta(days=4))

    body = club().content.decode()

    assert "1 March 2026: 4 to hang" in body
    assert "5 March 2026: 3 to hang" in body


@pytest.mark.parametrize("side", ["port", "starboard"])
def test_a_half_model_is_not_spoken_of_as_two_sides(owner, client, clock, side):
    half = lay_down_hull(owner, sides=(side,), name="Half model")
    link = links.make_link(half.build, name="The club", person=half.person, now=clock())

    body = client.get(reverse("club", args=[links.token_of(link)])).content.decode()

    assert f"{side}, from outside" in body
    assert "each side" not in body


@pytest.mark.parametrize("name", PAGES)
def test_an_evening_of_which_nothing_is_told_is_left_out(hull, club, name):
    shared_session(hull)
    empty = SessionFactory(build=hull.build, by=hull.person, shared=True, note="", local_date=date(2026, 3, 11))

    body = club(name).content.decode()

    assert "seen by the club" in body
    for bare in ("<h3>11 March 2026", "2026-03-11", str(empty.uuid)):
        assert bare not in body
