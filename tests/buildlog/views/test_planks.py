"""The steps of a strake's planks, each with who did it; twice changes nothing; another's hands are respected."""

import uuid

import pytest
from django.urls import reverse

from buildlog.actions.planks import begin_cutting, cut_strake, hang_strake
from buildlog.models import Build, Event, Plank, PlankStep, Session
from buildlog.queries.planks import OPEN, states_of_strakes
from tests.factories import PersonFactory
from tests.hulls import LAID_DOWN

REASON = {"reason": "split at the butt"}


def _url(hull, step, label="1"):
    return reverse(f"planks-{step}", args=[hull.build.uuid, hull.strakes[label].uuid])


def _state(hull, label="1"):
    strake = hull.strakes[label]
    return states_of_strakes([strake.pk]).get(strake.pk, OPEN).state


@pytest.mark.parametrize(
    ("step", "state"),
    [
        ("begin", "cutting"), ("cut", "cut"), ("dry-fit", "dry_fitted"), ("hang", "hung"),
        ("hang-unmeasured", "hung"),
    ],
)  # fmt: skip
def test_step_is_taken_once_however_often_it_is_sent(hull, client_of, owner, step, state):
    browser = client_of(owner)

    answers = [browser.post(_url(hull, step)) for _ in range(2)]

    assert [answer.url for answer in answers] == [reverse("bench", args=[hull.build.uuid])] * 2
    assert _state(hull) == state
    step_row = PlankStep.objects.get()
    assert (step_row.person, step_row.session.by) == (hull.person, hull.person)


def test_strake_in_another_s_hands_is_refused_by_name_and_unchanged(hull, client_of, owner, clock):
    marit = PersonFactory(build=hull.build, display_name="Marit")
    begin_cutting(hull.strakes["1"], person=marit, now=clock())

    answer = client_of(owner).post(_url(hull, "begin"))

    assert answer.status_code == 409
    assert "Marit has it: cutting." in answer.content.decode()
    assert Plank.objects.get().by == marit


def test_mark_of_yesterday_is_taken_over(hull, client_of, owner, clock):
    marit = PersonFactory(build=hull.build, display_name="Marit")
    begin_cutting(hull.strakes["1"], person=marit, now=clock())
    clock.forward(hours=24)

    client_of(owner).post(_url(hull, "begin"))

    assert Plank.objects.get().by == hull.person


@pytest.mark.parametrize(("step", "state"), [("spoil", "spoiled"), ("take-off", "taken_off")])
def test_plank_out_of_the_hull_carries_its_reason(hull, client_of, owner, clock, step, state):
    hang_strake(hull.strakes["1"], person=hull.person, now=clock())

    client_of(owner).post(_url(hull, step), {"reason": "split at the butt"})

    assert _state(hull) == "open"
    last = PlankStep.objects.last()
    assert (last.state, last.reason) == (state, "split at the butt")


def test_hung_by_mistake_goes_back_to_what_it_was(hull, client_of, owner, clock):
    browser = client_of(owner)
    browser.post(_url(hull, "cut"))
    hang_strake(hull.strakes["1"], person=hull.person, now=clock.forward(minutes=1))

    browser.post(_url(hull, "unhang"), {"reason": "tapped the wrong strake"})

    assert _state(hull) == "cut"
    assert PlankStep.objects.last().reason == "tapped the wrong strake"


@pytest.mark.parametrize("step", ["spoil", "take-off", "unhang"])
@pytest.mark.parametrize("reason", ["", "   ", "x" * 301], ids=["empty", "blank", "too long"])
def test_reason_has_to_be_said_in_few_words(hull, client_of, owner, clock, step, reason):
    hang_strake(hull.strakes["1"], person=hull.person, now=clock())

    answer = client_of(owner).post(_url(hull, step), {"reason": reason})

    page = answer.content.decode()
    assert answer.status_code == 200
    assert "Why: " in page
    assert reason.strip() in page
    assert _state(hull) == "hung"


@pytest.mark.parametrize("step", ["spoil", "take-off", "unhang"])
def test_strake_that_is_not_in_place_is_refused_in_words(hull, client_of, owner, step):
    page = client_of(owner).post(_url(hull, step), {"reason": "gone"}).content.decode()

    assert "No plank of this strake is in place." in page or "This strake does not hang." in page
    assert 'value="gone"' in page


def test_undone_plank_can_be_cut_again(hull, client_of, owner, clock):
    browser = client_of(owner)
    browser.post(_url(hull, "hang"))
    browser.post(_url(hull, "take-off"), {"reason": "wrong curve"})
    clock.forward(minutes=5)

    browser.post(_url(hull, "cut"))

    assert _state(hull) == "cut"
    assert Plank.objects.count() == 2


def _waited(minutes):
    """Headers of what a phone wrote down so long ago and could not send before."""
    item = {"X-Waiting-Item": str(uuid.uuid4()), "X-Waited": str(60 * minutes)}
    return {"Accept": "application/json"} | item


def test_step_refused_begins_no_session(hull, client_of, owner, helper, clock):
    client_of(owner).post(_url(hull, "begin"))

    answers = [client_of(helper).post(_url(hull, "begin")), client_of(helper).post(_url(hull, "spoil", "2"), REASON)]

    assert [answer.status_code for answer in answers] == [409, 200]
    assert [session.by for session in Session.objects.all()] == [hull.person]


@pytest.mark.parametrize(
    ("out", "sentence"),
    [
        ("take-off", "This strake was taken off at 19:50, after this was written down."),
        ("spoil", "The plank was spoiled at 19:50, after this was written down."),
        ("unhang", "This strake was taken off at 19:50, after this was written down."),
    ],
)
@pytest.mark.parametrize("step", ["hang", "begin"])
def test_step_sent_late_does_not_hang_what_came_off_since(hull, client_of, owner, helper, clock, step, out, sentence):
    client_of(owner).post(_url(hull, "hang"))
    clock.forward(minutes=20)
    client_of(owner).post(_url(hull, out), REASON)
    clock.forward(minutes=10)

    answer = client_of(helper).post(_url(hull, step), headers=_waited(minutes=25))

    assert (answer.status_code, answer.json()["sentence"]) == (409, sentence)
    assert _state(hull) == "open"
    assert Session.objects.count() == 1


def test_step_sent_late_hangs_no_new_plank_in_the_place_of_what_came_off_since(hull, client_of, owner, helper, clock):
    client_of(owner).post(_url(hull, "hang"))
    clock.forward(minutes=20)
    client_of(owner).post(_url(hull, "take-off"), REASON)
    clock.forward(minutes=5)
    client_of(owner).post(_url(hull, "cut"))
    clock.forward(minutes=5)

    answer = client_of(helper).post(_url(hull, "hang"), headers=_waited(minutes=25))

    assert (answer.status_code, _state(hull)) == (409, "cut")


def test_what_came_off_on_another_day_is_told_with_its_day(hull, client_of, owner, helper, clock):
    Build.objects.update(time_zone="Asia/Tokyo")
    client_of(owner).post(_url(hull, "hang"))
    clock.forward(minutes=20)
    client_of(owner).post(_url(hull, "take-off"), REASON)
    clock.forward(days=2)

    answer = client_of(helper).post(_url(hull, "hang"), headers=_waited(minutes=2 * 24 * 60 + 5))

    assert answer.json()["sentence"].startswith("This strake was taken off at 4:50 on 15 March 2026, after")


def test_step_sent_late_of_a_time_after_it_came_off_is_taken(hull, client_of, owner, helper, clock):
    client_of(owner).post(_url(hull, "hang"))
    clock.forward(minutes=20)
    client_of(owner).post(_url(hull, "take-off"), REASON)
    clock.forward(minutes=10)

    client_of(helper).post(_url(hull, "hang"), headers=_waited(minutes=8))

    assert _state(hull) == "hung"


def test_a_strake_that_is_cut_already_is_told_of_once(hull):
    cut_strake(hull.strakes["2"], person=hull.person, now=LAID_DOWN)
    hull.opening.refresh_from_db()
    serial = hull.opening.serial

    cut_strake(hull.strakes["2"], person=hull.person, now=LAID_DOWN)

    hull.opening.refresh_from_db()
    assert hull.opening.serial == serial
    assert Event.objects.filter(build=hull.build, verb="cut").count() == 1
