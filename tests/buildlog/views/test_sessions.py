"""Editing a session: two people at once both keep their words on screen."""

import pytest
from django.urls import reverse

from buildlog.models import Event, Session
from tests.factories import SessionFactory


@pytest.fixture
def session(hull):
    return SessionFactory(build=hull.build, by=hull.person, note="Garboard fitted.")


@pytest.fixture
def url(hull, session):
    return reverse("session-edit", args=[hull.build.uuid, session.uuid])


def _post(**fields):
    return {
        "version": "1", "side": "port", "minutes": "75", "humidity_percent": "41", "note": "Garboard hung.",
        "next_note": "heat first",
    } | fields  # fmt: skip


def test_session_is_changed_and_its_history_kept(hull, client_of, owner, session, url):
    answer = client_of(owner).post(url, _post())

    session.refresh_from_db()
    assert answer.url.startswith(reverse("log", args=[hull.build.uuid]))
    assert (session.side, session.minutes, session.humidity_percent) == ("port", 75, 41)
    assert (session.note, session.next_note, session.version) == ("Garboard hung.", "heat first", 2)
    assert Event.objects.get(verb="edited").before["note"] == "Garboard fitted."


def test_newer_words_of_somebody_else_meet_mine_on_the_page(client_of, owner, session, url):
    Session.objects.filter(pk=session.pk).update(version=2, note="Two planks spoiled.")

    answer = client_of(owner).post(url, _post(note="Two planks hung."))

    page = answer.content.decode()
    assert answer.status_code == 409
    assert "Two planks spoiled." in page
    assert "Two planks hung." in page
    assert 'name="version" value="2"' in page
    session.refresh_from_db()
    assert session.note == "Two planks spoiled."


def test_same_words_sent_again_after_a_lost_answer_are_no_conflict(client_of, owner, session, url):
    browser = client_of(owner)

    answers = [browser.post(url, _post()).status_code for _ in range(2)]

    assert answers == [302, 302]
    session.refresh_from_db()
    assert session.version == 2


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"minutes": "ten"}, "Minutes: write whole minutes"),
        ({"minutes": "0"}, "Minutes: at least 1"),
        ({"minutes": "99999999999999999999"}, "Minutes: a session has 1440 at most"),
        ({"humidity_percent": "101"}, "Humidity: from 0 to 100."),
        ({"humidity_percent": "-1"}, "Humidity: from 0 to 100."),
        ({"side": "upper"}, "Side has to be port, starboard or both."),
    ],
)
def test_what_cannot_be_read_is_named_and_the_note_stays_typed(
    client_of, owner, session, url, fields, sentence
):
    page = client_of(owner).post(url, _post(**fields)).content.decode()

    assert sentence in page
    assert "Garboard hung." in page
    session.refresh_from_db()
    assert session.version == 1


def test_htmx_gets_the_fragment(client_of, owner, url):
    answer = client_of(owner).get(url, headers={"HX-Request": "true"})

    assert answer.content.decode().lstrip().startswith('<form novalidate id="session"')


def test_session_of_a_half_model_is_of_its_one_side_and_keeps_what_it_says(client_of, owner, session, url):
    """The hull of the fixture is port alone; this session was of both sides before."""
    type(session).objects.update(side="both")

    form = client_of(owner).get(url).context["form"]

    assert [value for value, _words in form.fields["side"].choices] == ["", "port", "both"]
