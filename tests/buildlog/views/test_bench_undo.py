"""Undo on the bench: the last deed of one's own, whole, once."""

import re

import pytest
from django.urls import reverse

from buildlog.models import Amendment, Plank, Reading
from buildlog.queries import last_things
from buildlog.queries.planks import OPEN, states_of_strakes
from tests.buildlog.views.test_bench import record


def undo(browser, hull, bench_url):
    token = re.search(r'name="thing" value="([^"]+)"', browser.get(bench_url).content.decode())
    browser.post(reverse("undo", args=[hull.build.uuid]), {"thing": token[1] if token else "none"})


def test_undo_withdraws_the_widths_and_steps_the_plank_back(hull, client_of, owner, bench_url):
    browser = client_of(owner)
    record(browser, hull)
    before = browser.get(bench_url).content.decode()

    undo(browser, hull, bench_url)

    assert "2 widths, cut." in before
    assert list(Amendment.objects.values_list("act", flat=True)) == ["withdraws"] * 2
    assert states_of_strakes([hull.strakes["1"].pk]).get(hull.strakes["1"].pk, OPEN).state == "open"
    assert "Undo</button>" not in browser.get(bench_url).content.decode()


def test_undo_goes_back_deed_by_deed(hull, client_of, owner, bench_url, clock):
    browser = client_of(owner)
    record(browser, hull)
    clock.forward(minutes=5)
    browser.post(reverse("planks-hang", args=[hull.build.uuid, hull.strakes["1"].uuid]))
    clock.forward(minutes=5)

    undo(browser, hull, bench_url)
    after_one = states_of_strakes([hull.strakes["1"].pk])[hull.strakes["1"].pk].state
    counted = Amendment.objects.count()
    clock.forward(minutes=5)
    undo(browser, hull, bench_url)

    assert (after_one, counted) == ("cut", 0)
    assert Amendment.objects.count() == 2
    assert Plank.objects.get().state == "taken_off"


def test_undo_takes_back_both_halves_of_an_entry_that_was_asked_about(hull, client_of, owner, bench_url, clock):
    browser = client_of(owner)
    record(browser, hull, at0="5.01")
    clock.forward(minutes=1)
    record(browser, hull, at1="5.00")
    said = browser.get(bench_url).content.decode()

    undo(browser, hull, bench_url)

    assert "2 widths, cut." in said
    assert Amendment.objects.count() == 2
    assert states_of_strakes([hull.strakes["1"].pk]).get(hull.strakes["1"].pk, OPEN).state == "open"


def test_undo_takes_back_an_entry_longer_than_the_first_look(hull, client_of, owner, bench_url, monkeypatch):
    monkeypatch.setattr(last_things, "SOME", 1)
    browser = client_of(owner)
    record(browser, hull, at0="5.01", at1="5.00")

    undo(browser, hull, bench_url)

    assert Amendment.objects.count() == 2


def test_undo_of_a_second_take_leaves_the_first(hull, client_of, owner, bench_url, clock):
    browser = client_of(owner)
    record(browser, hull, at0="5.01", at1="5.00")
    clock.forward(minutes=1)
    record(browser, hull, at0="5.02")

    undo(browser, hull, bench_url)

    assert [reading.typed for reading in Reading.objects.filter(amendment__isnull=False)] == ["5.02"]
    assert Plank.objects.get().state == "cut"


def test_double_tap_on_undo_undoes_one_thing(hull, client_of, owner, bench_url, clock):
    browser = client_of(owner)
    record(browser, hull)
    clock.forward(minutes=5)
    browser.post(reverse("planks-hang", args=[hull.build.uuid, hull.strakes["1"].uuid]))
    token = re.search(r'name="thing" value="([^"]+)"', browser.get(bench_url).content.decode())[1]

    for _ in range(2):
        browser.post(reverse("undo", args=[hull.build.uuid]), {"thing": token})

    assert Amendment.objects.count() == 0
    assert Plank.objects.get().state == "cut"


def test_undo_touches_only_my_own_session(hull, client_of, owner, helper, bench_url, clock):
    record(client_of(owner), hull)
    mine = client_of(helper)

    assert "Undo</button>" not in mine.get(bench_url).content.decode()
    clock.forward(days=1)
    assert "Undo</button>" not in client_of(owner).get(bench_url).content.decode()
    assert Reading.objects.count() == 2


@pytest.mark.parametrize("begins_the_clock", [False, True])
def test_what_was_saved_before_midnight_is_undone_after_it(hull, client_of, owner, bench_url, clock, begins_the_clock):
    clock.forward(hours=4, minutes=28)
    browser = client_of(owner)
    record(browser, hull)
    clock.forward(minutes=5)
    if begins_the_clock:
        browser.post(reverse("clock-start", args=[hull.build.uuid]))

    undo(browser, hull, bench_url)

    assert list(Amendment.objects.values_list("act", flat=True)) == ["withdraws"] * 2
    assert Plank.objects.get().state == "taken_off"


def test_what_was_saved_in_the_morning_of_this_day_is_undone_in_its_evening(hull, client_of, owner, bench_url, clock):
    clock.forward(hours=12)
    browser = client_of(owner)
    record(browser, hull)
    clock.forward(hours=12)

    undo(browser, hull, bench_url)

    assert Plank.objects.get().state == "taken_off"


def test_hung_not_measured_undone_is_measured_again(hull, client_of, owner, bench_url):
    browser = client_of(owner)
    browser.post(reverse("planks-hang-unmeasured", args=[hull.build.uuid, hull.strakes["5"].uuid]))
    said = browser.get(bench_url).content.decode()

    undo(browser, hull, bench_url)

    plank = Plank.objects.get()
    assert "hung, not measured." in said
    assert (plank.state, plank.measured) == ("taken_off", "measured")
