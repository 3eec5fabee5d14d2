"""Tips, mishaps and worries: written at the bench, found again, closed."""

import re
import uuid
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from buildlog.models import Event, Mishap, Tip, Worry
from tests.factories import SessionFactory, WorryFactory
from tests.hulls import lay_down_hull


@pytest.fixture
def at(hull):
    return lambda name, *args: reverse(name, args=[hull.build.uuid, *args])


def test_tip_is_found_by_the_word_of_its_work(hull, owner, client_of, at):
    browser = client_of(owner)
    told = {"kind": "tip", "text": "Wet the outer face only", "operation": "bending", "strake": ""}
    browser.post(at("writing-new"), told)

    assert "Wet the outer face only" in browser.get(at("log") + "?words=bending").content.decode()
    assert "Wet the outer face only" not in browser.get(at("log") + "?words=spiling").content.decode()


def test_mishap_of_a_strake_is_on_its_page(hull, owner, client_of, at):
    browser = client_of(owner)
    told = {"kind": "mishap", "text": "It split at the butt", "strake": hull.strakes["2"].uuid, "operation": ""}
    browser.post(at("writing-new"), told)

    assert "It split at the butt" in browser.get(at("strake-detail", hull.strakes["2"].uuid)).content.decode()


def test_double_tap_writes_one_mishap(hull, owner, client_of, at):
    for _ in range(2):
        client_of(owner).post(at("writing-new"), {"kind": "mishap", "text": "It split", "strake": "", "operation": ""})

    assert Mishap.objects.count() == 1


def test_second_of_two_equal_mishaps_of_a_day_is_written_too(owner, client_of, at):
    browser = client_of(owner)
    for _ in range(2):
        name = re.search(r'name="client_uuid" value="([0-9a-f-]{36})"', browser.get(at("writing-new")).content.decode())
        for _tap in range(2):
            told = {"kind": "mishap", "text": "A pin bent", "strake": "", "operation": "", "client_uuid": name[1]}
            browser.post(at("writing-new"), told)

    assert Mishap.objects.count() == 2
    assert Event.objects.filter(verb="written").count() == 2


@pytest.mark.parametrize("name", [None, "", "no name", "00000000"])
def test_words_without_a_name_are_a_double_tap_for_a_minute_alone(owner, client_of, at, clock, name):
    browser, told = client_of(owner), {"kind": "worry", "text": "It may spring", "strake": "", "operation": ""}
    told |= {} if name is None else {"client_uuid": name}
    for seconds in (50, 70, 0):
        browser.post(at("writing-new"), told)
        clock.forward(seconds=seconds)

    assert Worry.objects.count() == 2


def test_other_words_under_a_name_that_is_taken_are_written_beside(owner, helper, client_of, at):
    told = {"kind": "tip", "text": "Wet one face", "strake": "", "operation": "", "client_uuid": str(uuid.uuid4())}
    client_of(owner).post(at("writing-new"), told)

    client_of(owner).post(at("writing-new"), told | {"text": "Wet one face only"})
    client_of(helper).post(at("writing-new"), told)

    assert [tip.text for tip in Tip.objects.all()] == ["Wet one face", "Wet one face only", "Wet one face"]


def test_equal_mishaps_written_on_one_page_kept_on_a_phone_are_two(owner, client_of, at):
    told = {"kind": "mishap", "text": "A pin bent", "strake": "", "operation": "", "client_uuid": str(uuid.uuid4())}
    items = [str(uuid.uuid4()), str(uuid.uuid4())]
    for item in [*items, *items]:
        headers = {"Accept": "application/json", "X-Waiting-Item": item, "X-Waited": "3600"}
        assert client_of(owner).post(at("writing-new"), told, headers=headers).status_code == 200

    assert sorted(str(row.uuid) for row in Mishap.objects.all()) == sorted(items)


@pytest.mark.parametrize(("told", "says"), [
    ({"kind": "tip", "text": ""}, "In your words: nothing was typed."),
    ({"kind": "song", "text": "la la"}, "What it is: mishap, tip or worry."),
    ({"kind": "tip", "text": "x" * 4001}, "In your words: at most 4000 letters; this has 4001."),
    ({"kind": "tip", "text": "kept words", "operation": "whistling"}, "A tip for: choose from the list."),
    ({"kind": "tip", "text": "kept words", "strake": "not-a-strake"}, "About: choose a strake from the list."),
])  # fmt: skip
def test_bad_writing_is_named_and_nothing_is_lost(hull, owner, client_of, at, told, says):
    page = client_of(owner).post(at("writing-new"), told).content.decode()

    assert says in page
    assert told["text"] in page
    assert not Tip.objects.exists()


def test_strake_of_another_build_cannot_be_written_about(hull, owner, stranger, client_of, at):
    other = lay_down_hull(stranger, name="Another hull")
    told = {"kind": "tip", "text": "kept words", "strake": other.strakes["1"].uuid}

    page = client_of(owner).post(at("writing-new"), told).content.decode()

    assert "About: choose a strake from the list." in page


def test_worry_stands_until_it_is_closed_with_a_reason(hull, owner, client_of, at):
    worry = WorryFactory(session=SessionFactory(build=hull.build))
    browser = client_of(owner)
    close = at("worry-close", worry.uuid)

    assert worry.text in browser.get(at("worry-list")).content.decode()
    assert "How it ended: write a few words" in browser.post(close, {"reason": " "}).content.decode()
    browser.post(close, {"reason": "it closed when it dried"})
    assert "Nothing worries" in browser.get(at("worry-list")).content.decode()
    assert Worry.objects.get().closed_reason == "it closed when it dried"


def test_worry_closed_by_two_keeps_the_first_reason(hull, owner, helper, client_of, at):
    worry = WorryFactory(session=SessionFactory(build=hull.build))
    client_of(helper).post(at("worry-close", worry.uuid), {"reason": "the first reason"})

    page = client_of(owner).post(at("worry-close", worry.uuid), {"reason": "the second reason"})

    assert page.status_code == 409
    assert "the first reason" in page.content.decode()
    assert "the second reason" in page.content.decode()
    assert Worry.objects.get().closed_reason == "the first reason"


def test_word_for_next_time_is_the_first_thing_seen_next_time_only(hull, owner, helper, client_of, at, clock):
    today = clock.moment.date()
    SessionFactory(
        build=hull.build, by=hull.person, local_date=today - timedelta(days=2), next_note="sharpen the plane",
        opened_at=clock.moment - timedelta(days=2),
    )

    assert "sharpen the plane" in client_of(owner).get(at("bench")).content.decode()
    assert "left word" in client_of(helper).get(at("bench")).content.decode()

    SessionFactory(build=hull.build, by=hull.person, local_date=today, opened_at=clock.moment)
    assert "sharpen the plane" not in client_of(owner).get(at("bench")).content.decode()


def test_queries_do_not_grow_with_worries(hull, owner, client_of, at, django_assert_num_queries):
    session, browser = SessionFactory(build=hull.build), client_of(owner)
    WorryFactory(session=session, strake=hull.strakes["2"])
    browser.get(at("worry-list"))
    with CaptureQueriesContext(connection) as one:
        browser.get(at("worry-list"))
    WorryFactory.create_batch(3, session=session, strake=hull.strakes["3"])

    with django_assert_num_queries(len(one)):
        assert "Port" in browser.get(at("worry-list")).content.decode()
