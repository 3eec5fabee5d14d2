"""Belts of a draft: neighbours by construction, in order as they lie, and hold or carry at the line."""

import uuid

import pytest
from django.urls import reverse

from buildlog.actions.plans import copy_revision
from buildlog.models import PlanBelt
from buildlog.queries.plan_belts import belt_as_seen
from buildlog.queries.plan_widths import draft_opening
from tests.hulls import hang


@pytest.fixture
def draft(hull, clock):
    return copy_revision(hull.revision, reason="belts", person=hull.person, now=clock())


def add(browser, hull, draft, name, first, last, at_line="carry"):
    url = reverse("plan-belt-add", args=[hull.build.uuid, draft.uuid, hull.opening.uuid])
    ends = {"first": hull.strakes[first].uuid, "last": hull.strakes[last].uuid}
    return browser.post(url, {"name": name, "at_line": at_line, "seen": "", **ends})


def belt_url(hull, draft, belt, name="plan-belt-change"):
    return reverse(name, args=[hull.build.uuid, draft.uuid, belt.uuid])


def seen(hull, draft, belt):
    return belt_as_seen(belt, draft_opening(draft, hull.opening).strakes)


def told(draft):
    belts = PlanBelt.objects.filter(revision=draft).order_by("position")
    return [(b.name, b.at_line, list(b.strakes.order_by("position").values_list("label", flat=True))) for b in belts]


def test_belts_lie_in_order_from_the_keel_whatever_was_added_first(client_of, owner, hull, draft):
    browser = client_of(owner)

    add(browser, hull, draft, "Side", "4", "5", at_line="hold")
    add(browser, hull, draft, "Floor", "3", "1")

    assert told(draft) == [("Floor", "carry", ["1", "2", "3"]), ("Side", "hold", ["4", "5"])]


def test_table_names_belts_and_what_their_line_does(client_of, owner, hull, draft):
    browser = client_of(owner)
    add(browser, hull, draft, "Side", "4", "5", at_line="hold")

    page = browser.get(reverse("revision-edit", args=[hull.build.uuid, draft.uuid])).content.decode()

    assert "held at its line" in page
    assert belt_url(hull, draft, PlanBelt.objects.get()) in page


def test_two_belts_of_one_name_are_refused(client_of, owner, hull, draft):
    browser = client_of(owner)
    add(browser, hull, draft, "Side", "4", "5")

    answer = add(browser, hull, draft, "side", "1", "2")

    assert answer.status_code == 409
    assert "this side has a belt called side already" in answer.content.decode()
    assert told(draft) == [("Side", "carry", ["4", "5"])]


def test_hung_strake_stays_in_its_belt(client_of, owner, hull, draft, clock):
    browser = client_of(owner)
    add(browser, hull, draft, "Floor", "1", "2")
    hang(hull, "1", clock())
    belt = PlanBelt.objects.get()

    moved = browser.post(belt_url(hull, draft, belt), {
        "name": "Floor", "at_line": "carry", "seen": seen(hull, draft, belt),
        "first": hull.strakes["2"].uuid, "last": hull.strakes["3"].uuid,
    })  # fmt: skip
    taken_out = browser.post(belt_url(hull, draft, belt, "plan-belt-remove"), follow=True)

    assert moved.status_code == 409
    assert "1 is in hand or hung" in moved.content.decode()
    assert "are in hand or hung (1)" in taken_out.content.decode()
    assert told(draft) == [("Floor", "carry", ["1", "2"])]


def test_two_people_on_one_belt_the_loser_sees_both(client_of, owner, builder, hull, draft):
    add(client_of(owner), hull, draft, "Floor", "1", "2")
    belt = PlanBelt.objects.get()
    sent = {"at_line": "carry", "seen": seen(hull, draft, belt), "first": hull.strakes["1"].uuid,
            "last": hull.strakes["2"].uuid}  # fmt: skip
    client_of(builder).post(belt_url(hull, draft, belt), sent | {"name": "Bottom"})

    answer = client_of(owner).post(belt_url(hull, draft, belt), sent | {"name": "Keel belt"})

    page = answer.content.decode()
    assert answer.status_code == 409
    assert "It is now Bottom, strakes 1, 2, carry." in page
    assert 'value="Keel belt"' in page


def test_belt_taken_out_leaves_its_strakes(client_of, owner, hull, draft):
    browser = client_of(owner)
    add(browser, hull, draft, "Floor", "1", "2")

    browser.post(belt_url(hull, draft, PlanBelt.objects.get(), "plan-belt-remove"))

    assert told(draft) == []
    assert draft.strakes.count() == 5


def test_only_who_may_plan_may_change_belts(client_of, owner, helper, reader, stranger, hull, draft):
    add(client_of(owner), hull, draft, "Floor", "1", "2")
    belt = PlanBelt.objects.get()

    codes = [client_of(who).post(belt_url(hull, draft, belt)).status_code for who in (helper, reader, stranger)]

    assert codes == [403, 403, 404]


def test_belt_that_is_not_there_is_not_found(client_of, owner, hull, draft):
    url = reverse("plan-belt-change", args=[hull.build.uuid, draft.uuid, uuid.uuid4()])

    assert client_of(owner).get(url).status_code == 404
