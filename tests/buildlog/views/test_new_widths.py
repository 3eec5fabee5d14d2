"""New widths from a gap: looked at first, then put in force; nothing hung or in hand ever changes."""

import uuid

import pytest
from django.urls import reverse

from buildlog.actions import planks, readings
from buildlog.models import PlanOpening, PlanRevision, TestJoint
from tests.factories import CardPrintFactory
from tests.hulls import hang, lay_down_hull


def read_gap(hull, clock, *, nm, stations=None, kind="gap"):
    for station in stations or hull.stations:
        readings.record_reading(
            hull.build, client_uuid=uuid.uuid4(), now=clock(), kind=kind, opening=hull.opening,
            station=station, value_nm=nm, typed=f"{nm / 1e6:g}", unit="mm", method="paper_strip",
            instrument=hull.strip,
            person=hull.person,
        )  # fmt: skip


def url(name, hull, query=""):
    return reverse(name, args=[hull.build.uuid, hull.opening.uuid]) + query


def put(browser, hull, **changes):
    hull.opening.refresh_from_db()
    typed = {"serial": hull.opening.serial, "reason": "Read today.", "left": ""}
    return browser.post(url("new-widths-put", hull), typed | changes)


def widths_now(hull, station="M"):
    revision = PlanRevision.objects.get(state="in_force")
    return {
        s.label: s.widths.get(station__name=station).width_nm
        for s in revision.strakes.all()
        if s.widths.filter(station__name=station).exists()
    }


def test_without_a_gap_the_page_says_how_to_read_one(client_of, hull, owner):
    page = client_of(owner).get(url("new-widths", hull)).content.decode()

    assert "No gap has been read here yet" in page
    assert reverse("gaps-record", args=[hull.build.uuid, hull.opening.uuid]) in page


def test_short_gap_is_shared_evenly(client_of, hull, owner, clock):
    """24.50 / 5 = 4.90, by hand."""
    read_gap(hull, clock, nm=24_500_000)

    found = client_of(owner).get(url("new-widths", hull)).context["found"]

    assert [share.each_nm for share in found.shares] == [4_900_000] * 3
    assert [share.left for share in found.shares] == [5, 5, 5]


def test_new_widths_come_into_force_as_the_next_revision_and_close(client_of, hull, owner, clock):
    read_gap(hull, clock, nm=24_500_003)

    answer = put(client_of(owner), hull)

    revision = PlanRevision.objects.get(state="in_force")
    assert answer["Location"] == reverse("plan", args=[hull.build.uuid]) + "?side=port"
    assert (revision.number, revision.reason, revision.decided_by) == (2, "Read today.", hull.person)
    assert sum(widths_now(hull).values()) == 24_500_003
    assert revision.openings.get().girths.get(station__name="M").girth_nm == 24_500_003
    assert PlanRevision.objects.get(number=1).state == "past"


def test_shape_of_the_plan_stays(client_of, hull, owner, clock):
    """Planned 5, 5, 5, 5, 6 = 26; the gap is 25.5, so each gives 0.1."""
    hull.revision.strakes.get(label="1").widths.update(width_nm=6_000_000)
    read_gap(hull, clock, nm=25_500_000)

    page = client_of(owner).get(url("new-widths", hull))
    put(client_of(owner), hull)

    assert "Strake by strake" in page.content.decode()
    assert widths_now(hull) == {
        "1": 5_900_000,
        "2": 4_900_000,
        "3": 4_900_000,
        "4": 4_900_000,
        "5": 4_900_000,
    }


def test_what_is_hung_keeps_its_width_and_comes_off_nothing(client_of, hull, owner, clock):
    hang(hull, "1", clock())
    clock.forward(minutes=5)
    read_gap(hull, clock, nm=19_600_000)

    put(client_of(owner), hull)

    assert widths_now(hull) == {
        "1": 5_000_000,
        "2": 4_900_000,
        "3": 4_900_000,
        "4": 4_900_000,
        "5": 4_900_000,
    }


def test_gap_read_before_a_strake_was_hung_has_that_strake_taken_off(client_of, hull, owner, clock):
    read_gap(hull, clock, nm=24_500_000)
    clock.forward(minutes=5)
    hang(hull, "1", clock())

    share = client_of(owner).get(url("new-widths", hull)).context["found"].shares[1]

    assert share.hung_since == ("1",)
    assert 19_300_000 < share.gap_nm < 19_600_000


def test_strake_in_hand_keeps_its_width_and_comes_off_first(client_of, hull, owner, clock):
    planks.begin_cutting(hull.strakes["5"], person=hull.person, now=clock())
    read_gap(hull, clock, nm=24_600_000)

    put(client_of(owner), hull)

    assert widths_now(hull) == {
        "1": 4_900_000,
        "2": 4_900_000,
        "3": 4_900_000,
        "4": 4_900_000,
        "5": 5_000_000,
    }


@pytest.mark.parametrize(
    ("joint_nm", "hung", "said"),
    [
        (20_000, ["1"], "A seam takes about 0.020, by your test joints;"),
        (None, ["1", "5", "2", "4"], "by what the seams hung so far took;"),
        (None, [], "until a test joint or what hangs tells;"),
    ],
)
def test_what_tells_the_seam_is_named_alone(client_of, hull, owner, clock, joint_nm, hung, said):
    if joint_nm:
        TestJoint.objects.create(build=hull.build, person=hull.person, seam_nm=joint_nm, u_nm=3_000, strips=5,
                                 happened_at=clock.moment, known_at=clock.moment, received_at=clock.moment)  # fmt: skip
    PlanOpening.objects.update(planned_seam_nm=30_000)
    read_gap(hull, clock, nm=25_000_000, kind="girth")
    for label in hung:
        hang(hull, label, clock())
        for station in hull.stations:
            readings.record_reading(
                hull.build, client_uuid=uuid.uuid4(), now=clock(), kind="width", station=station, value_nm=5_000_000,
                opening=hull.opening, strake=hull.strakes[label], typed="5", unit="mm", method="jaws",
                instrument=hull.caliper, person=hull.person,
            )  # fmt: skip
    read_gap(hull, clock, nm=(5 - len(hung)) * 5_000_000 - 150_000)

    page = " ".join(client_of(owner).get(url("new-widths", hull)).content.decode().split())

    assert said in page
    assert page.count("it is left room for") == 1


def test_seam_of_a_test_joint_is_left_room_for(client_of, hull, owner, clock):
    """Five strakes, six seams of 0.02: (24.62 - 0.12) / 5 = 4.90, by hand."""
    now = clock()
    TestJoint.objects.create(build=hull.build, person=hull.person, seam_nm=20_000, u_nm=3_000, strips=5,
                             happened_at=now, known_at=now, received_at=now)  # fmt: skip
    read_gap(hull, clock, nm=24_620_000)

    put(client_of(owner), hull)

    plan = PlanRevision.objects.get(state="in_force").openings.get()
    assert widths_now(hull)["2"] == 4_900_000
    assert plan.planned_seam_nm == 20_000
    assert plan.girths.get(station__name="M").girth_nm == 24_620_000


def test_station_that_was_not_read_stays_as_planned_and_is_named(client_of, hull, owner, clock):
    read_gap(hull, clock, nm=24_500_000, stations=[hull.stations[1]])

    page = client_of(owner).get(url("new-widths", hull))
    put(client_of(owner), hull)

    assert [s.name for s in page.context["found"].missing] == ["F", "A"]
    assert set(widths_now(hull, "F").values()) == {5_000_000}
    assert set(widths_now(hull, "M").values()) == {4_900_000}


def test_one_more_strake_is_new_beside_the_closing_one(client_of, hull, owner, clock):
    """24.00 / 6 = 4.00, by hand."""
    read_gap(hull, clock, nm=24_000_000)

    put(client_of(owner), hull, left="6")

    revision = PlanRevision.objects.get(state="in_force")
    assert list(revision.strakes.values_list("label", flat=True)) == ["1", "2", "3", "3a", "4", "5"]
    assert revision.strakes.get(label="3a").run == "wale"
    assert set(widths_now(hull).values()) == {4_000_000}


def test_one_strake_fewer_leaves_out_neither_the_closing_nor_the_next(client_of, hull, owner, clock):
    read_gap(hull, clock, nm=24_000_000)

    put(client_of(owner), hull, left="4")

    revision = PlanRevision.objects.get(state="in_force")
    assert list(revision.strakes.values_list("label", flat=True)) == ["1", "2", "3", "5"]
    assert hull.strakes["4"].plans.get().revision.number == 1
    assert set(widths_now(hull).values()) == {6_000_000}


def test_label_of_a_strake_once_left_out_is_never_given_again(client_of, hull, owner, clock):
    read_gap(hull, clock, nm=24_000_000)
    browser = client_of(owner)

    for left in ("6", "5", "6"):
        put(browser, hull, left=left)

    labels = PlanRevision.objects.get(state="in_force").strakes.values_list("label", flat=True)
    assert list(labels) == ["1", "2", "3", "3b", "4", "5"]


def test_other_count_with_a_station_unread_is_refused_by_its_name(client_of, hull, owner, clock):
    read_gap(hull, clock, nm=24_000_000, stations=hull.stations[:2])

    answer = put(client_of(owner), hull, left="6")

    assert answer.context["form"].non_field_errors() == [
        "With another number of strakes every place has other widths: read the gap at A too."
    ]
    assert PlanRevision.objects.count() == 1


@pytest.mark.parametrize(
    ("changes", "field"),
    [({"reason": ""}, "reason"), ({"reason": "x" * 301}, "reason"), ({"serial": "-1"}, "serial"),
     ({"serial": "x"}, "serial"), ({"left": "0"}, "left"), ({"left": "1e3"}, "left")],
)  # fmt: skip
def test_form_that_will_not_do_changes_nothing(client_of, hull, owner, clock, changes, field):
    read_gap(hull, clock, nm=24_500_000)

    answer = put(client_of(owner), hull, **changes)

    assert answer.status_code == 200
    assert field in answer.context["form"].errors
    assert PlanRevision.objects.count() == 1


def test_reading_that_came_in_between_shows_the_widths_as_they_are_now(client_of, hull, owner, clock):
    read_gap(hull, clock, nm=24_500_000)
    hull.opening.refresh_from_db()
    seen = hull.opening.serial
    clock.forward(minutes=1)
    read_gap(hull, clock, nm=24_000_000)

    answer = put(client_of(owner), hull, serial=seen, reason="my words")

    assert answer.status_code == 409
    assert PlanRevision.objects.count() == 1
    assert answer.context["found"].shares[0].each_nm == 4_800_000
    assert 'value="my words"' in answer.content.decode()


def test_double_tap_makes_one_revision(client_of, hull, owner, clock):
    read_gap(hull, clock, nm=24_500_000)
    hull.opening.refresh_from_db()
    browser, serial = client_of(owner), hull.opening.serial

    put(browser, hull, serial=serial)
    second = put(browser, hull, serial=serial)

    assert second.status_code == 409
    assert PlanRevision.objects.count() == 2


def test_gap_smaller_than_nothing_left_is_said_and_not_put(client_of, hull, owner, clock):
    now = clock()
    TestJoint.objects.create(build=hull.build, person=hull.person, seam_nm=20_000, u_nm=3_000, strips=5,
                             happened_at=now, known_at=now, received_at=now)  # fmt: skip
    read_gap(hull, clock, nm=100_000)

    page = client_of(owner).get(url("new-widths", hull))
    answer = put(client_of(owner), hull)

    assert page.status_code == 200
    assert page.context["found"].trouble
    assert answer.status_code == 200
    assert PlanRevision.objects.count() == 1


def test_choosing_goes_to_the_side_that_is_next(client_of, hull, owner):
    answer = client_of(owner).get(reverse("next-widths", args=[hull.build.uuid]))

    assert answer["Location"] == url("new-widths", hull)


def test_choosing_with_everything_hung_goes_back_to_the_plan(client_of, hull, owner, clock):
    for label in hull.strakes:
        hang(hull, label, clock())

    answer = client_of(owner).get(reverse("next-widths", args=[hull.build.uuid]))

    assert answer["Location"] == reverse("plan", args=[hull.build.uuid])


@pytest.mark.parametrize(("role", "status"), [("stranger", 404), ("reader", 403), ("helper", 403)])
def test_new_widths_are_for_those_who_may_plan(request, client_of, hull, role, status):
    browser = client_of(request.getfixturevalue(role))

    assert browser.get(url("new-widths", hull)).status_code == status
    assert put(browser, hull).status_code == status


def test_opening_of_another_build_is_not_there(client_of, hull, owner, stranger):
    other = lay_down_hull(stranger, name="Other")

    answer = client_of(owner).get(reverse("new-widths", args=[hull.build.uuid, other.opening.uuid]))

    assert answer.status_code == 404


def test_builder_proposes_new_widths_and_the_plan_in_force_stands(client_of, hull, builder, clock):
    read_gap(hull, clock, nm=24_500_000)
    browser = client_of(builder)

    page = browser.get(url("new-widths", hull)).content.decode()
    answer = put(browser, hull)

    proposed = PlanRevision.objects.get(state="proposed")
    assert "Propose it" in page
    assert "Put it in force" not in page
    assert answer["Location"] == reverse("revision-detail", args=[hull.build.uuid, proposed.uuid])
    assert (proposed.number, proposed.reason, proposed.based_on) == (None, "Read today.", hull.revision)
    assert set(widths_now(hull).values()) == {5_000_000}
    assert proposed.strakes.get(label="1").widths.get(station__name="M").width_nm == 4_900_000


def test_cards_that_new_widths_make_void_are_listed_before_and_after(client_of, hull, owner, clock):
    plan = hull.revision.strakes.get(label="5")
    card = CardPrintFactory(plan_strake=plan, code="VOIDSOON23", widths={"M": 5_000_000})
    read_gap(hull, clock, nm=24_500_000)
    browser = client_of(owner)

    before = browser.get(url("new-widths", hull)).content.decode()
    after = browser.get(put(browser, hull)["Location"]).content.decode()

    assert "This makes one printed card void" in before
    assert card.code in before
    assert card.code in after
    assert reverse("card-detail", args=[hull.build.uuid, hull.strakes["5"].uuid]) in after
    assert "Print again" in after


def test_nothing_left_to_cut_is_said_and_asks_for_no_gap(client_of, hull, owner, clock):
    for label in ("5", "4", "1", "2", "3"):
        hang(hull, label, clock.forward(minutes=1))

    page = client_of(owner).get(url("new-widths", hull)).content.decode()

    assert "No strake is left to be cut." in page
    assert "No gap has been read here yet" not in page
