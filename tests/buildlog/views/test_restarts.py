"""Where I left off: met by itself after a long break."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.urls import reverse

from buildlog.actions.instruments import check_zero
from buildlog.models import Build
from buildlog.sample.story import tell_story
from tests.factories import (
    CardPrintFactory,
    MembershipFactory,
    PhotoFactory,
    SessionFactory,
    SupplyFactory,
    WorryFactory,
)
from tests.hulls import hang


@pytest.fixture
def at(hull):
    return lambda name, *args: reverse(name, args=[hull.build.uuid, *args])


@pytest.fixture
def left(hull, clock):
    """A session forty days ago that left a word."""
    then = clock.moment - timedelta(days=40)
    return SessionFactory(
        build=hull.build, by=hull.person, local_date=then.date(), opened_at=then, next_note="next is strake 2",
        humidity_percent=63,
    )


def test_a_build_opens_with_it_once_after_thirty_days(hull, owner, client_of, at, left):
    browser = client_of(owner)

    first = browser.get(at("build-open"))

    assert first["Location"] == at("where-i-left-off")
    assert "40 days ago" in browser.get(at("where-i-left-off")).content.decode()
    assert browser.get(at("build-open"))["Location"] == at("bench")
    assert browser.get(reverse("home"))["Location"] == at("bench")


def test_a_build_opens_at_its_bench_after_a_week(hull, owner, client_of, at, clock):
    then = clock.moment - timedelta(days=7)
    SessionFactory(build=hull.build, by=hull.person, local_date=then.date(), opened_at=then)

    assert client_of(owner).get(at("build-open"))["Location"] == at("bench")


def test_a_reader_is_not_sent_there(hull, reader, client_of, at, left):
    assert client_of(reader).get(at("build-open"))["Location"] == at("bench")


def test_the_sample_opens_at_its_bench(hull, owner, client_of, at, left):
    Build.objects.update(is_sample=True)

    assert client_of(owner).get(at("build-open"))["Location"] == at("bench")


def test_it_tells_all_that_is_asked_before_cutting(hull, owner, client_of, at, left):
    hang(hull, "1", left.opened_at)
    WorryFactory(session=left, text="the garboard sits proud at A")
    SupplyFactory(build=hull.build, name="white glue", opened_on=date(2024, 1, 1))
    CardPrintFactory(plan_strake=hull.strakes["2"].plans.get(), voided_at=left.opened_at)

    page = client_of(owner).get(at("where-i-left-off")).content.decode()

    for said in ("next is strake 2", "hung last", "the garboard sits proud at A", "white glue", "63 %", "Caliper",
                 "Thrown away", "4 to hang"):  # fmt: skip
        assert said in page


def test_without_a_session_there_is_nothing_to_come_back_to(hull, owner, client_of, at):
    assert client_of(owner).get(at("where-i-left-off"))["Location"] == at("bench")


def test_sample_after_its_six_months_names_caliper_a_and_the_gap(owner, client_of):
    build = tell_story(owner, until=datetime(2026, 1, 30, tzinfo=UTC), pictures=False)

    page = client_of(owner).get(reverse("where-i-left-off", args=[build.uuid])).content.decode()

    assert "26 July 2025" in page
    assert "in doubt: its zero may have moved" in page
    assert "measure the gap" in page


@pytest.mark.parametrize(
    ("ago", "said"),
    [(50, "{}, <strong>check again</strong>"), (10, "{}</span>")],
)
def test_a_zero_checked_before_the_break_is_to_be_checked_again(hull, owner, client_of, at, left, clock, ago, said):
    when = clock.moment - timedelta(days=ago)
    check_zero(hull.caliper, offset_nm=0, u_nm=5_000, person=hull.person, now=when)

    page = " ".join(client_of(owner).get(at("where-i-left-off")).content.decode().split())

    assert said.format(f"checked {when.day} {when:%B %Y}") in page.replace(" </span>", "</span>")
    assert "Paper strip" not in page


def test_a_zero_checked_long_ago_stands_where_the_bench_was_not_left(hull, owner, client_of, at, clock):
    yesterday = clock.moment - timedelta(days=1)
    SessionFactory(build=hull.build, by=hull.person, local_date=yesterday.date(), opened_at=yesterday)
    when = clock.moment - timedelta(days=50)
    check_zero(hull.caliper, offset_nm=0, u_nm=5_000, person=hull.person, now=when)

    page = client_of(owner).get(at("where-i-left-off")).content.decode()

    assert f"checked {when.day} {when:%B %Y}" in page
    assert "check again" not in page


def test_hand_over_note_has_all_in_five_lines_and_the_newest_photograph(hull, owner, client_of, at, left):
    hang(hull, "1", left.opened_at)
    WorryFactory(session=left, text="the garboard sits proud at A")
    CardPrintFactory(plan_strake=hull.strakes["2"].plans.get(), voided_at=left.opened_at)
    shown = {"build": hull.build, "state": "ready", "width": 800, "height": 600}
    PhotoFactory(**shown, taken_local="2026-01-02T10:00:00", caption="an older one")
    PhotoFactory(**shown, taken_local="2026-02-02T10:00:00", caption="clamped at M")
    PhotoFactory(**shown, taken_local="2026-02-03T10:00:00", caption="the slate", is_slate=True)

    page = " ".join(client_of(owner).get(at("hand-over")).content.decode().split())

    assert page.count("<li>") >= 5
    for said in (
        "Port 1 hung last", "4 to hang", "Cut to revision 1 of the plan", "next is strake 2", "clamped at M",
        "the garboard sits proud at A", "throw away the card Port 2 of revision 1;",
    ):  # fmt: skip
        assert said in page
    assert "an older one" not in page
    assert "the slate" not in page


def test_hand_over_note_of_a_hull_with_no_session_leads_to_the_bench(hull, owner, client_of, at):
    assert client_of(owner).get(at("hand-over"))["Location"] == at("bench")


def test_hand_over_note_without_words_or_plan_says_so(owner, client_of, clock):
    build = MembershipFactory(account=owner).build
    SessionFactory(build=build, local_date=clock.moment.date(), opened_at=clock.moment)

    page = client_of(owner).get(reverse("hand-over", args=[build.uuid])).content.decode()

    assert "Nothing hangs yet." in page
    assert "No word was left." in page
