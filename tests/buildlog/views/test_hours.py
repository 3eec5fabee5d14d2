"""Hours: what a strake took, worked by hand, and the time to come as a range and never as one date."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from buildlog.actions.planks import hang_strake, take_out_strake
from buildlog.measuring.hours import finish_of
from buildlog.models import Build
from buildlog.queries.hours import minutes_of_strakes, timed_sessions
from buildlog.sample.story import THE_END, tell_story
from tests.factories import MembershipFactory, SessionFactory
from tests.hulls import LAID_DOWN


def session(hull, day, minutes, *labels, side="port"):
    """A session of so many minutes in which strakes hung."""
    at = LAID_DOWN + timedelta(days=day)
    row = SessionFactory(
        build=hull.build, by=hull.person, local_date=at.date(), opened_at=at, minutes=minutes, side=side,
    )  # fmt: skip
    for label in labels:
        hang_strake(hull.strakes[label], person=hull.person, now=at, session=row)
    return row


def minutes_by_label(hull):
    labels = {strake.pk: label for label, strake in hull.strakes.items()}
    return [(labels[one.strake_id], one.minutes) for one in minutes_of_strakes(timed_sessions(hull.build))]


def page_of(client_of, account, build):
    answer = client_of(account).get(reverse("hours", args=[build.uuid]))
    assert answer.status_code == 200
    return answer


def test_a_session_is_shared_by_what_hung_in_it_and_one_without_goes_to_the_next(hull):
    """60 alone; 100 + 80 / 2 = 140 for strake 2 and 40 for 4, worked by hand; both sides' girths belong to none."""
    session(hull, 1, 45, side="both")
    session(hull, 2, 60, "1")
    session(hull, 3, 100)
    session(hull, 4, 80, "2", "4")

    assert minutes_by_label(hull) == [("1", 60.0), ("2", 140.0), ("4", 40.0)]


def test_a_strake_taken_off_has_no_minutes_and_a_session_without_time_is_left_out(hull):
    session(hull, 1, 60, "1")
    session(hull, 2, None, "2")
    take_out_strake(
        hull.strakes["1"], "taken_off", person=hull.person, now=LAID_DOWN + timedelta(days=3), reason="lifted"
    )

    assert minutes_by_label(hull) == []


def test_hours_to_come_are_a_range_between_two_months(hull, owner, client_of, clock):
    for day, label in ((1, "1"), (8, "2"), (15, "5"), (22, "4")):
        session(hull, day, 300, label)

    page = page_of(client_of, owner, hull.build)

    (to_come,), finish = page.context["to_come"], page.context["finish"]
    assert (to_come.left, page.context["total"]) == (1, 1200)
    assert to_come.pace.low_hours < 5 * 1.4 < to_come.pace.high_hours
    # 20 h in 4 weeks: 5 h a week. From the last session on, 22 days after the start of March.
    last = (LAID_DOWN + timedelta(days=22)).date()
    assert finish.earliest == last + timedelta(weeks=to_come.pace.low_hours / 5)
    assert finish.latest == last + timedelta(weeks=to_come.pace.high_hours / 5)
    assert "1 strake to hang: closed between" in page.content.decode()


@pytest.mark.parametrize("days", [20, 284])
@pytest.mark.parametrize("is_sample", [True, False])
def test_after_a_pause_the_time_to_come_is_counted_from_today(hull, owner, client_of, clock, days, is_sample):
    for day, label in ((1, "1"), (8, "2"), (15, "5"), (22, "4")):
        session(hull, day, 300, label)
    Build.objects.filter(pk=hull.build.pk).update(is_sample=is_sample)
    clock.moment = LAID_DOWN + timedelta(days=22 + days)

    page = page_of(client_of, owner, hull.build)

    (to_come,), finish = page.context["to_come"], page.context["finish"]
    assert finish.earliest == clock.moment.date() + timedelta(weeks=to_come.pace.low_hours / 5)
    assert finish.earliest >= clock.moment.date()


def test_weeks_off_move_the_later_end_alone(hull, owner, client_of, clock):
    """Two weeks with work within ten: 10 h a week at the quick end, 2 at the slow one, by hand."""
    sessions = [session(hull, 0, 600, "1"), session(hull, 63, 600, "2")]
    pace = type("P", (), {"low_hours": 10.0, "high_hours": 20.0, "too_early": False})()
    to_come = [type("T", (), {"left": 3, "pace": pace})()]

    found = finish_of(to_come, sessions, date(2026, 6, 1))

    assert found.earliest == date(2026, 6, 8)
    assert found.latest == date(2026, 6, 1) + timedelta(weeks=10)


def test_before_three_strakes_no_month_is_told(hull, owner, client_of):
    session(hull, 1, 120, "1")

    page = page_of(client_of, owner, hull.build)

    assert page.context["finish"] is None
    assert "Too little is logged to tell how long they take." in page.content.decode()
    assert "too early to tell" in page.content.decode()


def test_nothing_timed_says_where_to_begin(hull, owner, client_of):
    assert "No time is written down yet" in page_of(client_of, owner, hull.build).content.decode()


def test_a_build_without_a_plan_still_adds_its_hours(owner, client_of):
    build = MembershipFactory(account=owner).build
    SessionFactory(build=build, minutes=90, side="")

    page = page_of(client_of, owner, build)

    assert page.context["total"] == 90
    assert '<b class="fig">1.5</b>' in page.content.decode()


def test_sample_adds_up_to_its_hours_by_side_and_ends_closed(owner, client_of):
    """109.7 h in all: port 49.0, starboard 45.8, both 14.8; the sample's own invented sessions."""
    build = tell_story(owner, until=THE_END)

    page = page_of(client_of, owner, build)

    hours = {one.side: round(one.minutes / 60, 1) for one in page.context["by_side"]}
    assert hours == pytest.approx({"port": 49.0, "starboard": 45.8, "both": 14.8}, abs=0.11)
    assert [one.left for one in page.context["to_come"]] == [0, 0]
    assert page.context["finish"] is None
