"""The Log room."""

import re
from datetime import date, timedelta

import pytest
from django.urls import reverse

from buildlog.models import Build, Tip
from tests.factories import NOON, SessionFactory


@pytest.fixture
def page(hull, owner, client_of):
    browser = client_of(owner)
    return lambda **query: browser.get(reverse("log", args=[hull.build.uuid]), query)


def session(hull, day, **fields):
    return SessionFactory(build=hull.build, by=hull.person, local_date=date(2026, 3, day), **fields)


def test_two_sessions_of_one_day_are_told_apart_by_the_hour(hull, page):
    Build.objects.filter(pk=hull.build.pk).update(time_zone="Europe/Oslo")
    session(hull, 1, note="alone", opened_at=NOON)
    for hours in (0, 3):
        session(hull, 2, note=f"{hours}", opened_at=NOON + timedelta(hours=hours))

    body = page().content.decode()

    assert re.findall(r"<h2>([^<]+)</h2>", body) == [
        "Mon 2 March 2026, 16:00", "Mon 2 March 2026, 13:00", "Sun 1 March 2026",
    ]  # fmt: skip


def test_log_without_a_session_says_how_one_begins(page):
    assert "Nothing is written down yet" in page().content.decode()


def test_log_shows_the_newest_session_first(hull, page):
    session(hull, 1, note="first day")
    session(hull, 9, note="ninth day", minutes=75, humidity_percent=37)

    body = page().content.decode()

    assert body.index("ninth day") < body.index("first day")
    assert "75 min · humidity 37 %" in body


@pytest.mark.parametrize("words", ["heat", "HEAT iron", "iron heat"])
def test_search_finds_a_tip_by_its_operation_and_words(hull, page, words):
    session(hull, 1, note="nothing of it")
    found = session(hull, 2, note="curve")
    Tip.objects.create(session=found, person=hull.person, text="Hot iron", operation="heat", written_at=NOON)

    body = page(words=words).content.decode()

    assert "curve" in body
    assert "nothing of it" not in body
    assert "One session holds" in body


def test_search_for_markup_shows_it_as_text(page):
    body = page(words="<script>alert(1)</script>").content.decode()

    assert "<script>alert" not in body
    assert "&lt;script&gt;" in body


def test_log_asks_the_same_of_the_database_for_three_sessions_as_for_one(
    hull, page, django_assert_num_queries, django_assert_max_num_queries
):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    session(hull, 1)
    page()
    with CaptureQueriesContext(connection) as one:
        page()
    session(hull, 2)
    session(hull, 3)

    with CaptureQueriesContext(connection) as three:
        page()

    assert len(three) == len(one)


def test_log_turns_its_pages(hull, page):
    for day in range(1, 15):
        session(hull, day, note=f"day {day} of it")

    first, second = page().content.decode(), page(page=2).content.decode()

    assert "day 14 of it" in first
    assert "day 1 of it" in second
    assert page(page="no number").status_code == 200
