"""What every test may use. People are always owner, builder, helper, reader, stranger, and link."""

import os
from datetime import UTC, datetime, timedelta

import pytest

from tests.browser import chromium_path, launch


class Clock:
    """A clock that stands until it is told to move; `settings.CLOCK` while a test uses the `clock` fixture.
    """

    def __init__(self, moment: datetime) -> None:
        self.moment = moment

    def __call__(self) -> datetime:
        return self.moment

    def forward(self, **span: float) -> datetime:
        self.moment += timedelta(**span)
        return self.moment


@pytest.fixture
def clock(settings) -> Clock:
    settings.CLOCK = Clock(datetime(2026, 3, 14, 19, 30, tzinfo=UTC))
    return settings.CLOCK


def _account(name):
    from tests.factories import AccountFactory

    return AccountFactory(sign_in_name=name, password="a long bench password")


@pytest.fixture
def owner(db):
    return _account("owner")


@pytest.fixture
def hull(owner):
    """A set-up hull with one planked side of five strakes; its owner is `owner`."""
    from tests.hulls import lay_down_hull

    return lay_down_hull(owner)


@pytest.fixture
def build(hull):
    return hull.build


def _member(name, role, build):
    from tests.factories import MembershipFactory, PersonFactory

    account = _account(name)
    MembershipFactory(build=build, account=account, role=role)
    PersonFactory(build=build, account=account, display_name=name)
    return account


@pytest.fixture
def builder(build):
    return _member("builder", "builder", build)


@pytest.fixture
def helper(build):
    return _member("helper", "helper", build)


@pytest.fixture
def reader(build):
    return _member("reader", "reader", build)


@pytest.fixture
def stranger(db):
    return _account("stranger")


@pytest.fixture
def client_of(db):
    """Return a function that gives a browser signed in as an account."""
    from django.test import Client

    def client(account):
        browser = Client()
        if account is not None:
            browser.force_login(account)
        return browser

    return client


@pytest.fixture(scope="session")
def playwright():
    """What starts browsers; skips where there is none, unless CI=true: there it must fail."""
    if not chromium_path() and os.environ.get("CI") != "true":
        pytest.skip("no browser here: set CHROMIUM to one")
    from playwright.sync_api import sync_playwright

    # Its event loop runs in this thread for as long as the session; Django would take every later test for
    # asynchronous code and refuse it the database.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="session")
def browser(playwright):
    chromium = launch(playwright)
    yield chromium
    chromium.close()
