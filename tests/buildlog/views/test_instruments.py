"""An instrument's page: a zero that was off, which readings it is of, and what is done about it.

Figures by hand: a width of 5.08 read with jaws that read 0.08 shut is 5.00.
"""

import html
import re
import uuid
from datetime import timedelta

import pytest
from django.urls import reverse

from buildlog.actions.instruments import check_zero, correct_zero, tell_zero_may_have_moved, withdraw_correction
from buildlog.actions.planks import hang_strake
from buildlog.actions.readings import record_reading
from buildlog.measuring.openings import facts_of
from buildlog.measuring.reviews import review_of
from buildlog.models import Epoch, ZeroCorrection
from buildlog.queries.instruments import off_epochs_of, state_of
from planking.hung_widths import zero_of
from tests.hulls import LAID_DOWN

DAY = timedelta(days=1)


@pytest.fixture
def browser(owner, client_of):
    return client_of(owner)


def at(name, hull, *args):
    return reverse(name, args=[hull.build.uuid, *args])


def read(browser, where) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", browser.get(where).content.decode())).split())


def page(browser, hull) -> str:
    return read(browser, at("instrument-detail", hull, hull.caliper.uuid))


def record(hull, nm, days, *, label="1", station=0):
    return record_reading(
        hull.build, client_uuid=uuid.uuid4(), now=LAID_DOWN + days * DAY, kind="width", station=hull.stations[station],
        opening=hull.opening, strake=hull.strakes[label], value_nm=nm, typed=f"{nm / 1e6:.2f}", unit="mm",
        method="jaws", stage="cut", instrument=hull.caliper, person=hull.person,
    )[0]  # fmt: skip


def check(hull, offset_nm, days):
    return check_zero(
        hull.caliper, offset_nm=offset_nm, u_nm=5_000, person=hull.person, now=LAID_DOWN + days * DAY
    )


@pytest.fixture
def off(hull):
    """Strake 1 read 5.08 after a knock, then the jaws read 0.08 shut, then 0.00: they were set anew between."""
    tell_zero_may_have_moved(hull.caliper, person=hull.person, now=LAID_DOWN + DAY)
    record(hull, 5_080_000, 2)
    hang_strake(hull.strakes["1"], person=hull.person, now=LAID_DOWN + 2 * DAY)
    check(hull, 80_000, 3)
    check(hull, 0, 4)
    return hull


def zeros(hull) -> list[float]:
    facts = facts_of(hull.opening)
    return [round(zero_of(facts, epoch.name)[0], 3) for epoch in facts.epochs]


def test_a_check_on_nought_after_one_that_was_off_begins_anew_and_asks_of_the_readings_before(off, browser):
    record(off, 5_000_000, 5, label="2")

    said = page(browser, off)

    assert Epoch.objects.filter(instrument=off.caliper).count() == 3
    assert "zero checked; readings of before wait to be corrected" in said
    assert "1 reading of 2 March 2026 to 5 March 2026 would count as 0.08 less than it was read." in said
    assert re.search(r"They are of \S* ?Port 1 \.", said), said
    assert zeros(off) == [0.0, 0.0]


def test_correcting_them_leaves_what_was_read_since_alone(off, browser):
    record(off, 5_000_000, 5, label="2")
    (waiting,) = off_epochs_of(off.caliper)

    browser.post(at("zero-correct", off, off.caliper.uuid), {"reason": "crumb", "epoch": waiting.epoch.uuid})

    assert zeros(off) == [0.08, 0.0]
    said = page(browser, off)
    assert "0.08 taken off the readings of 2 March 2026 to 5 March 2026: crumb" in said
    assert "Correct what was read" not in said
    assert state_of(off.caliper).state == "sound"


@pytest.mark.parametrize(
    ("checks", "epochs", "state"),
    [
        # The jaws still stand where they stood: the same zero.
        ((80_000, 80_000), 2, "off"), ((80_000, 50_000), 2, "off"),
        # Within the doubt of two readings of each other.
        ((60_000, 30_000), 2, "sound"),
        # A slip of the pen: the last check is believed, for nobody says that it was set.
        ((800_000, 80_000), 2, "off"),
        ((0, 80_000), 2, "off"), ((0, 10_000), 2, "sound"), ((-80_000, 0), 3, "sound"),
    ],
)  # fmt: skip
def test_a_new_epoch_begins_only_where_the_zero_was_set_anew(hull, checks, epochs, state):
    tell_zero_may_have_moved(hull.caliper, person=hull.person, now=LAID_DOWN + DAY)
    record(hull, 5_000_000, 2)
    for days, offset_nm in enumerate(checks, start=3):
        check(hull, offset_nm, days)

    assert hull.caliper.epochs.count() == epochs
    assert state_of(hull.caliper).state == state


def test_every_page_says_the_same_of_a_zero_that_nobody_corrected(off, browser):
    strake = read(browser, at("strake-detail", off, off.strakes["1"].uuid))
    hull = review_of(off.opening)

    facts = facts_of(off.opening)
    assert "Widest at F, by 0.08." in strake
    assert "Caliper read 0.08 shut on 4 March 2026: nothing is taken off yet, and its widths are in doubt." in strake
    (point,) = next(one for one in hull.stations if one.station == "F").keel_drift
    assert round(point.deviation_mm, 3) == 0.08
    assert facts.epochs[0].in_doubt
    # 0.05 after a knock, and 0.08 that may or may not be of these readings: the root of the sum of squares.
    assert facts.epochs[0].u_zero_mm == pytest.approx(0.0943, abs=0.0001)


def test_every_page_says_the_same_of_a_small_offset_that_a_check_found(hull, browser):
    record(hull, 5_080_000, 2)
    hang_strake(hull.strakes["1"], person=hull.person, now=LAID_DOWN + 2 * DAY)
    check(hull, 30_000, 3)

    strake = read(browser, at("strake-detail", hull, hull.strakes["1"].uuid))

    # The first zero is sure to 0.02, the check to 0.005: 0.03 / (1 + 0.005^2 / 0.02^2) = 0.0282.
    (point,) = next(one for one in review_of(hull.opening).stations if one.station == "F").keel_drift
    assert round(point.deviation_mm, 4) == 0.0518
    assert "Widest at F, by 0.05." in strake
    assert "5.05 read 5.08" in strake
    assert "The 0.03 that Caliper read shut on 4 March 2026 is taken off." in strake
    assert "zero checked: its 0.03 is taken off" in page(browser, hull)


def test_a_correction_withdrawn_is_offered_again_and_can_be_made_again(off, browser):
    said = {"reason": "crumb"}
    browser.post(at("zero-correct", off, off.caliper.uuid), said)
    browser.post(at("zero-correction-withdraw", off, ZeroCorrection.objects.get().uuid))

    strake = read(browser, at("strake-detail", off, off.strakes["1"].uuid))
    withdrawn = page(browser, off)
    browser.post(at("zero-correct", off, off.caliper.uuid), said)

    assert "Widest at F, by 0.08." in strake
    assert "nothing is taken off yet" in strake
    assert "Correct what was read" in withdrawn
    assert zeros(off) == [0.08]
    after = read(browser, at("strake-detail", off, off.strakes["1"].uuid))
    assert "On plan at every station" in after
    assert "0.08 is taken off what Caliper read: crumb" in after


def test_readings_can_be_let_count_as_read_and_are_out_of_doubt(off, browser):
    browser.post(at("zero-correct", off, off.caliper.uuid), {"reason": "the crumb came later", "as_read": "1"})

    facts = facts_of(off.opening)
    assert zeros(off) == [0.0]
    assert not facts.epochs[0].in_doubt
    assert facts.epochs[0].u_zero_mm == pytest.approx(0.02)
    said = page(browser, off)
    assert "The readings of 2 March 2026 to 5 March 2026 count as read: the crumb came later" in said
    assert "Correct what was read" not in said


def test_the_epoch_that_is_named_is_corrected_and_a_reason_left_out_is_asked_for_there(off, browser):
    tell_zero_may_have_moved(off.caliper, person=off.person, now=LAID_DOWN + 5 * DAY)
    record(off, 4_940_000, 6, label="2")
    check(off, -60_000, 7)
    newest, oldest = off_epochs_of(off.caliper)
    where = at("zero-correct", off, off.caliper.uuid)

    refused = browser.post(where, {"reason": "", "epoch": oldest.epoch.uuid}).content.decode()
    browser.post(where, {"reason": "crumb", "epoch": oldest.epoch.uuid})

    asked = refused[refused.index(f'value="{oldest.epoch.uuid}"') :]
    assert refused.count("Why: say what was off.") == asked.count("Why: say what was off.") == 1
    assert "1 reading since the zero moved would count as 0.06 more than it was read." in page(browser, off)
    assert [one.epoch for one in ZeroCorrection.objects.all()] == [oldest.epoch]
    assert zeros(off) == [0.08, 0.0]
    browser.post(where, {"reason": "again", "epoch": oldest.epoch.uuid})
    assert ZeroCorrection.objects.count() == 1
    assert newest.epoch.corrections.count() == 0


def test_a_correction_that_stands_now_or_stood_then_is_told_of_its_day(off, browser):
    epoch = off_epochs_of(off.caliper)[0].epoch
    made = correct_zero(
        epoch, offset_nm=80_000, u_nm=5_000, reason="crumb", person=off.person, now=LAID_DOWN + 10 * DAY
    )
    withdraw_correction(made, person=off.person, now=LAID_DOWN + 20 * DAY)
    where = at("strake-detail", off, off.strakes["1"].uuid)

    told = [read(browser, f"{where}?on=2026-03-{day:02d}") for day in (3, 5, 15)]

    assert "may have moved and was not checked since" in told[0]
    assert "nothing is taken off yet" in told[1]
    assert "0.08 is taken off what Caliper read: crumb" in told[2]
    assert "nothing is taken off yet" in read(browser, where)


def test_bench_warns_of_readings_that_wait_until_they_are_corrected(off, browser, clock):
    gap = {"method": "paper_strip", "at0": "19.95", "at1": "19.95", "at2": "19.95"}
    browser.post(at("gaps-record", off, off.opening.uuid), gap)
    before = read(browser, at("bench", off))

    browser.post(at("zero-correct", off, off.caliper.uuid), {"reason": "crumb"})

    assert "Caliper was 0.08 mm off." in before
    assert "mm off." not in read(browser, at("bench", off))


def test_a_reader_is_told_and_offered_nothing(off, reader, client_of):
    said = page(client_of(reader), off)

    assert "readings of before wait to be corrected" in said
    assert "Correct them" not in said
