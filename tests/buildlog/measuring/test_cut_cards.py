"""What to set: the habit comes off, is neither unlearned nor taken off twice, and stays known with the plank."""

import uuid
from datetime import timedelta

import pytest

from buildlog.actions import planks
from buildlog.actions.cards import print_card, throw_away_card
from buildlog.actions.readings import record_reading
from buildlog.measuring.cut_cards import card_to_cut, set_widths_now
from buildlog.measuring.openings import facts_of
from buildlog.models import Strake
from buildlog.queries.plans import revision_in_force
from tests import factories
from tests.hulls import LAID_DOWN, lay_down_hull

MM = factories.MM
HABIT = 60_000


@pytest.fixture
def long_hull(owner):
    return lay_down_hull(owner, labels=15)


def fresh(hull, label):
    """A strake as a page finds it, with its opening's serial of now."""
    return Strake.objects.select_related("opening__build").get(pk=hull.strakes[label].pk)


def cut_to_card(hull, label, now, *, habit=HABIT):
    """Cut, read and hang a strake as a builder does who sets what the card says and cuts ``habit`` wide of it."""
    strake = fresh(hull, label)
    told = set_widths_now(hull.build, strake, revision_in_force(hull.build))
    planks.begin_cutting(strake, person=hull.person, now=now, set_widths=told)
    came_out = []
    for station in hull.stations:
        nm = told.get(station.name, 5 * MM) + habit
        came_out.append(nm)
        record_reading(
            hull.build, client_uuid=uuid.uuid4(), now=now, kind="width", station=station, opening=hull.opening,
            strake=strake, plank_id=strake.planks.get().pk, value_nm=nm, typed=f"{nm / MM:.2f}", unit="mm",
            method="jaws", instrument=hull.caliper, person=hull.person,
        )  # fmt: skip
    planks.hang_strake(strake, person=hull.person, now=now)
    return told, came_out


def test_habit_is_taken_off_neither_unlearned_nor_doubled(long_hull):
    hull, order = long_hull, ["15", "1", "14", "2", "13", "3", "12", "4", "11", "5", "10", "6"]
    made = {}
    for day, label in enumerate(order, start=1):
        made[label] = cut_to_card(hull, label, LAID_DOWN + timedelta(days=day))

    first_told, first = made["15"]
    last_told, last = made["6"]
    assert first_told == {}
    assert first == [5 * MM + HABIT] * 3
    for width in last:
        assert width == pytest.approx(5 * MM, abs=20_000)
    for width in last_told.values():
        assert width == pytest.approx(5 * MM - HABIT, abs=20_000)


def test_plank_keeps_what_its_card_said_whatever_is_learnt_later(long_hull):
    hull = long_hull
    for day, label in enumerate(["15", "1", "14", "2"], start=1):
        cut_to_card(hull, label, LAID_DOWN + timedelta(days=day))
    told, _widths = cut_to_card(hull, "13", LAID_DOWN + timedelta(days=6))
    cut_to_card(hull, "3", LAID_DOWN + timedelta(days=7))

    card = card_to_cut(hull.build, fresh(hull, "13"), revision_in_force(hull.build))

    assert told
    assert card.set_widths == told
    aim = facts_of(hull.opening).strake_by_label["13"].aim_mm
    assert dict(aim) == {name: pytest.approx(nm / MM) for name, nm in told.items()}


def test_closing_strake_is_made_to_the_gap_with_nothing_taken_off(long_hull):
    hull = long_hull
    for day, label in enumerate(["15", "1", "14", "2"], start=1):
        cut_to_card(hull, label, LAID_DOWN + timedelta(days=day))

    card = card_to_cut(hull.build, fresh(hull, "8"), revision_in_force(hull.build))

    assert card.set_widths == {}


def test_who_has_the_card_on_paper_cuts_to_the_paper(long_hull):
    hull, revision = long_hull, revision_in_force(long_hull.build)
    before = card_to_cut(hull.build, fresh(hull, "13"), revision)
    printed = print_card(
        before.plan, words=before.words, widths_nm=before.widths_nm, set_widths=before.set_widths,
        person=hull.person, now=LAID_DOWN,
    )  # fmt: skip
    for day, label in enumerate(["15", "1", "14", "2"], start=1):
        cut_to_card(hull, label, LAID_DOWN + timedelta(days=day))

    card = card_to_cut(hull.build, fresh(hull, "13"), revision)

    assert card.printed_apart == printed
    assert set_widths_now(hull.build, fresh(hull, "13"), revision) == printed.set_widths
    throw_away_card(printed, person=hull.person, now=LAID_DOWN + timedelta(days=6))
    assert set_widths_now(hull.build, fresh(hull, "13"), revision) == card.set_widths != {}
