"""Holding a build or an opening: it makes others wait, and stops nobody from writing rows that name it."""

import threading
from datetime import timedelta

import pytest
from django.db import OperationalError, connection, transaction

from buildlog.actions.events import hold_build, hold_opening, tell_event
from buildlog.models import Event, Strake
from tests.hulls import LAID_DOWN

LATER = LAID_DOWN + timedelta(days=1)
pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(connection.vendor != "postgresql", reason="SQLite holds the whole file, never a row"),
]


def meanwhile(deed) -> list[str]:
    """Do something in another connection that waits for nobody longer than two seconds; return what went wrong."""
    wrong = []

    def go():
        try:
            with transaction.atomic(), connection.cursor() as cursor:
                cursor.execute("set local lock_timeout = '2s'")
                deed()
        except OperationalError as problem:
            wrong.append(str(problem))
        finally:
            connection.close()

    thread = threading.Thread(target=go)
    thread.start()
    thread.join(20)
    return wrong


def test_rows_that_name_a_build_being_held_are_written(hull):
    """Who hangs a strake holds its opening and then tells of it; who decides a plan holds the build, then openings."""
    with transaction.atomic():
        hold_build(hull.build)
        wrong = meanwhile(lambda: tell_event("hung", hull.opening, build=hull.build, now=LATER))

    assert wrong == []
    assert Event.objects.filter(verb="hung").count() == 1


def test_rows_that_name_an_opening_being_held_are_written(hull):
    with transaction.atomic():
        hold_opening(hull.opening)
        wrong = meanwhile(lambda: Strake.objects.create(opening=hull.opening))

    assert wrong == []


def test_a_build_and_an_opening_are_held_by_one_at_a_time(hull):
    with transaction.atomic():
        hold_build(hull.build)
        hold_opening(hull.opening)
        wrong = meanwhile(lambda: hold_build(hull.build)) + meanwhile(lambda: hold_opening(hull.opening))

    assert len(wrong) == 2
