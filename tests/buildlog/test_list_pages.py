"""List pages ask the same of the database for three rows as for one."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from buildlog.actions import instruments, links, people
from tests.factories import NOON, PhotoFactory, SessionFactory
from tests.hulls import lay_down_hull


def add_link(hull, n):
    links.make_link(hull.build, name=f"Link {n}", person=hull.person, now=NOON)


def add_person(hull, n):
    people.add_person(hull.build, display_name=f"Name {n}", person=hull.person, now=NOON)


def add_invitation(hull, n):
    people.invite(
        hull.build, role="helper", for_name=f"Name {n}", account=hull.person.account, person=hull.person, now=NOON
    )


def add_instrument(hull, n):
    instruments.add_instrument(hull.build, name=f"Rule {n}", kind="rule", person=hull.person, now=NOON)


def add_session(hull, n):
    PhotoFactory(build=hull.build, session=SessionFactory(build=hull.build, note=f"note {n}"))


def add_build(hull, n):
    lay_down_hull(hull.person.account, name=f"Hull {n}")


@pytest.mark.parametrize(
    ("name", "add"),
    [
        ("link-list", add_link), ("person-list", add_person), ("person-list", add_invitation),
        ("instrument-list", add_instrument), ("shed", add_instrument), ("log", add_session),
        ("share-list", add_session), ("build-list", add_build),
    ],
    ids=["links", "people", "invitations", "instruments", "shed", "log", "shares", "builds"],
)  # fmt: skip
def test_list_page_asks_the_same_for_three_as_for_one(hull, owner, client_of, name, add):
    browser = client_of(owner)
    url = reverse(name, args=[] if name == "build-list" else [hull.build.uuid])
    add(hull, 1)
    browser.get(url)
    with CaptureQueriesContext(connection) as one:
        browser.get(url)
    add(hull, 2)
    add(hull, 3)

    with CaptureQueriesContext(connection) as three:
        answer = browser.get(url)

    assert answer.status_code == 200
    assert [query["sql"][:90] for query in three][len(one) :] == []
