"""The clock of a session: started, stopped, forgotten and mended."""

from datetime import timedelta

import pytest
from django.urls import reverse

from buildlog.models import Session
from tests.factories import ReadingFactory, SessionFactory


@pytest.fixture
def at(hull):
    return lambda name, *args: reverse(name, args=[hull.build.uuid, *args])


def test_clock_counts_the_minutes_between_start_and_stop(hull, owner, client_of, at, clock):
    browser = client_of(owner)
    browser.post(at("clock-start"))
    running = browser.get(at("bench")).content.decode()
    clock.forward(minutes=75)
    answer = browser.post(at("clock-stop", Session.objects.get().uuid), {"at": "now"}, follow=True)

    assert "The clock has run since" in running
    assert "Stopped: 75 minutes." in answer.content.decode()
    assert Session.objects.get().minutes == 75


def test_one_minute_is_one_minute(hull, owner, client_of, at, clock):
    browser = client_of(owner)
    browser.post(at("clock-start"))
    clock.forward(seconds=50)

    answer = browser.post(at("clock-stop", Session.objects.get().uuid), {"at": "now"}, follow=True)

    assert "Stopped: 1 minute." in answer.content.decode()


def test_double_tap_starts_one_clock(hull, owner, client_of, at):
    for _ in range(2):
        client_of(owner).post(at("clock-start"))

    assert Session.objects.count() == 1


def test_clock_forgotten_for_nine_hours_is_offered_its_last_entry(hull, owner, client_of, at, clock):
    browser = client_of(owner)
    began = clock.moment
    browser.post(at("clock-start"))
    session = Session.objects.get()
    ReadingFactory(
        build=hull.build, opening=hull.opening, strake=hull.strakes["1"], station=hull.stations[0], session=session,
        happened_at=began + timedelta(minutes=92),
    )
    clock.forward(hours=9)

    page = browser.get(at("bench")).content.decode()
    last = (began + timedelta(minutes=92)).strftime("%H:%M")
    assert f"End it at {last}" in page

    browser.post(at("clock-stop", session.uuid), {"at": "last"})
    session.refresh_from_db()
    assert session.minutes == 92
    assert session.closed_at == began + timedelta(minutes=92)


def test_minutes_written_by_hand_stay(hull, owner, client_of, at, clock):
    browser = client_of(owner)
    browser.post(at("clock-start"))
    Session.objects.update(minutes=40)
    clock.forward(hours=9)

    answer = browser.post(at("clock-stop", Session.objects.get().uuid), {"at": "hand"})

    assert answer["Location"] == at("session-edit", Session.objects.get().uuid)
    assert Session.objects.get().minutes == 40


def test_stopping_twice_says_so_and_changes_nothing(hull, owner, client_of, at, clock):
    browser = client_of(owner)
    browser.post(at("clock-start"))
    stop = at("clock-stop", Session.objects.get().uuid)
    clock.forward(minutes=10)
    browser.post(stop)
    clock.forward(minutes=10)

    again = browser.post(stop, follow=True).content.decode()

    assert "This clock was stopped already." in again
    assert Session.objects.get().minutes == 10


def test_a_session_that_began_by_itself_has_no_clock(hull, owner, client_of, at, clock):
    SessionFactory(build=hull.build, by=hull.person, local_date=clock.moment.date(), opened_at=clock.moment)

    page = client_of(owner).get(at("bench")).content.decode()

    assert "Start the clock" in page
    assert "The clock has run" not in page


def test_a_started_clock_is_the_session_things_are_recorded_in(hull, owner, client_of, at):
    browser = client_of(owner)
    browser.post(at("clock-start"))
    browser.post(at("widths-record", hull.strakes["1"].uuid), {"damp": "dry", "stage": "cut", "at0": "5.01"})

    assert Session.objects.get().readings.count() == 1


def test_kinds_of_work_are_kept_with_the_session(hull, owner, client_of, at):
    session = SessionFactory(build=hull.build, by=hull.person)
    told = {"version": session.version, "kinds": ["spiling", "cutting"], "note": "quiet day"}
    client_of(owner).post(at("session-edit", session.uuid), told)

    assert "spiling, cutting." in client_of(owner).get(at("log")).content.decode()


def test_a_kind_of_no_list_is_refused_and_the_note_kept(hull, owner, client_of, at):
    session = SessionFactory(build=hull.build, by=hull.person)
    told = {"version": session.version, "kinds": ["caulking dragons"], "note": "quiet day"}

    page = client_of(owner).post(at("session-edit", session.uuid), told).content.decode()

    assert "Kinds of work: choose from the list." in page
    assert "quiet day" in page
