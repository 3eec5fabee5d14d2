"""The work packet: the next strakes as their entries would show them."""

from django.urls import reverse

from buildlog.actions.planks import hang_strake
from tests.factories import NOON


def packet_of(client, hull):
    return client.get(reverse("packet", args=[hull.build.uuid])).json()


def test_packet_has_the_next_strakes_with_what_is_wanted(hull, owner, client_of):
    packet = packet_of(client_of(owner), hull)

    assert (packet["owner"], packet["build"], packet["revision"]) == (str(owner.uuid), str(hull.build.uuid), 1)
    assert packet["person"] == hull.person.display_name
    first = packet["strakes"][0]
    assert [(one["name"], one["at"], one["wanted"]) for one in first["stations"]] == [
        ("at0", "F", "5.00"), ("at1", "M", "5.00"), ("at2", "A", "5.00"),
    ]  # fmt: skip
    assert first["url"] == reverse("widths-record", args=[hull.build.uuid, first["uuid"]])
    assert first["instrument"] == str(hull.caliper.uuid)


def test_a_strake_that_hangs_is_not_in_it(hull, owner, client_of):
    before = {one["uuid"] for one in packet_of(client_of(owner), hull)["strakes"]}
    hang_strake(hull.strakes["1"], person=hull.person, now=NOON)

    assert before - {one["uuid"] for one in packet_of(client_of(owner), hull)["strakes"]} == {
        str(hull.strakes["1"].uuid)
    }


def test_another_persons_packet_says_whose_it_is(hull, helper, client_of):
    assert packet_of(client_of(helper), hull)["owner"] == str(helper.uuid)
