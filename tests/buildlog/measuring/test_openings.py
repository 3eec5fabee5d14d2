"""Rows become the facts that planking reads: what counts, as it is known."""

import uuid
from datetime import timedelta

import pytest

from buildlog.actions import instruments, planks, plans
from buildlog.actions.readings import amend_reading, record_reading
from buildlog.actions.undo import step_back
from buildlog.measuring.openings import facts_of
from buildlog.measuring.reviews import review_of
from buildlog.models import Review, TestJoint
from tests.hulls import LAID_DOWN, hang

DAY = timedelta(days=1)


def record(hull, kind, nm, at=LAID_DOWN + DAY, *, station=0, label=None, method="jaws", **fields):
    return record_reading(
        hull.build, client_uuid=uuid.uuid4(), now=at, kind=kind, station=hull.stations[station], opening=hull.opening,
        strake=hull.strakes[label] if label else None, value_nm=nm, typed=f"{nm / 1e6:.2f}", unit="mm", method=method,
        instrument=hull.caliper if method == "jaws" else hull.strip, person=hull.person, **fields,
    )[0]  # fmt: skip


def test_plan_becomes_strakes_keel_side_first(hull):
    facts = facts_of(hull.opening)

    assert [s.label for s in facts.strakes] == ["1", "2", "3", "4", "5"]
    assert [s.run for s in facts.strakes] == ["keel", "keel", "closing", "wale", "wale"]
    assert facts.strakes[0].planned_mm == {"F": 5.0, "M": 5.0, "A": 5.0}
    assert facts.dead_flat == "M"
    assert [s.x_mm for s in facts.stations] == [-100.0, 0.0, 100.0]


def test_drift_is_judged_against_the_revision_a_plank_was_cut_to(hull):
    hang(hull, "1", LAID_DOWN + DAY)
    revision = plans.copy_revision(hull.revision, reason="wider", person=hull.person, now=LAID_DOWN + 2 * DAY)
    revision.strakes.get(label="1").widths.update(width_nm=5_500_000)
    plans.put_in_force(revision, person=hull.person, now=LAID_DOWN + 2 * DAY)

    strake = facts_of(hull.opening).strake_by_label["1"]

    assert (strake.planned_mm["M"], strake.judged_by_mm("M")) == (5.5, 5.0)


def test_two_takes_of_a_day_that_agree_are_one_surer_reading(hull):
    for nm in (24_900_000, 25_000_000):
        record(hull, "gap", nm, method="paper_strip")

    (gap,) = facts_of(hull.opening).gaps

    # The mean of two; the doubt of one paper strip, 0.10, over the root of two.
    assert gap.gap_mm == pytest.approx(24.95)
    assert gap.u_mm == pytest.approx(0.10 / 2**0.5)


def test_two_takes_that_do_not_agree_stay_two(hull):
    for nm in (24_500_000, 25_000_000):
        record(hull, "gap", nm, method="paper_strip")

    assert [gap.gap_mm for gap in facts_of(hull.opening).gaps] == [24.5, 25.0]


def test_a_gap_knows_which_strakes_hung_when_it_was_read(hull):
    record(hull, "gap", 25_000_000, LAID_DOWN + DAY, method="paper_strip")
    hang(hull, "1", LAID_DOWN + 2 * DAY)
    record(hull, "gap", 20_000_000, LAID_DOWN + 3 * DAY, method="paper_strip")

    assert [gap.hung for gap in facts_of(hull.opening).gaps] == [frozenset(), frozenset({"1"})]


def test_as_of_a_moment_knows_no_later_correction_amendment_or_plank(hull):
    first = record(hull, "width", 5_080_000, label="1")
    hang(hull, "1", LAID_DOWN + DAY)
    before = LAID_DOWN + 2 * DAY
    epoch = hull.caliper.epochs.get()
    at = before + DAY
    instruments.correct_zero(epoch, offset_nm=80_000, u_nm=5_000, reason="crumb", person=hull.person, now=at)
    new = record(hull, "width", 5_010_000, at, label="1")
    amend_reading(first, act="replaces", reason="misread", person=hull.person, now=at, new_reading=new)

    then, now = facts_of(hull.opening, as_of=before), facts_of(hull.opening)

    assert (then.widths[0].width_mm, then.epochs[0].zero_offset_mm) == (5.08, 0.0)
    assert (now.widths[0].width_mm, now.epochs[0].zero_offset_mm) == (5.01, 0.08)
    assert then.strake_by_label["1"].is_hung
    assert not facts_of(hull.opening, as_of=LAID_DOWN + DAY / 2).strake_by_label["1"].is_hung


def test_a_withdrawn_correction_counts_until_it_was_withdrawn(hull):
    record(hull, "width", 5_080_000, label="1")
    epoch = hull.caliper.epochs.get()
    correction = instruments.correct_zero(
        epoch, offset_nm=80_000, u_nm=5_000, reason="crumb", person=hull.person, now=LAID_DOWN + 2 * DAY
    )
    instruments.withdraw_correction(correction, person=hull.person, now=LAID_DOWN + 4 * DAY)

    offsets = [facts_of(hull.opening, as_of=LAID_DOWN + days * DAY).epochs[0].zero_offset_mm for days in (1.5, 3, 5)]

    assert offsets == [0.0, 0.08, 0.0]


def test_the_seam_is_that_of_the_test_joints_known(hull):
    for days, seam_nm in ((2, 14_000), (4, 10_000)):
        at = LAID_DOWN + days * DAY
        TestJoint.objects.create(
            build=hull.build, seam_nm=seam_nm, u_nm=3_000, happened_at=at, known_at=at, received_at=at
        )

    seams = [facts_of(hull.opening, as_of=LAID_DOWN + days * DAY).seam_mm for days in (1, 3, 5)]

    # Before any joint was tried: what the plan leaves for a seam, which here is nothing.
    # Two joints equally sure: their mean.
    assert seams == pytest.approx([0.0, 0.014, 0.012])


def test_a_strake_taken_off_is_open_again(hull):
    hang(hull, "1", LAID_DOWN + DAY)
    planks.take_out_strake(
        hull.strakes["1"], "taken_off", person=hull.person, now=LAID_DOWN + 2 * DAY, reason="split"
    )

    assert facts_of(hull.opening).strake_by_label["1"].state == "open"


def test_no_plan_gives_no_facts(owner):
    from tests.factories import OpeningFactory

    assert facts_of(OpeningFactory()) is None


@pytest.mark.parametrize("change", ["width", "hang", "correction", "revision", "moved"])
def test_every_change_of_facts_makes_a_new_review(hull, change):
    review_of(hull.opening)
    at = LAID_DOWN + DAY
    revision = plans.copy_revision(hull.revision, reason="again", person=hull.person, now=at)

    {
        "width": lambda: record(hull, "width", 5_010_000, label="1"),
        "hang": lambda: hang(hull, "1", at),
        "correction": lambda: instruments.correct_zero(
            hull.caliper.epochs.get(), offset_nm=1, u_nm=1, reason="crumb", person=hull.person, now=at
        ),
        "revision": lambda: plans.put_in_force(revision, person=hull.person, now=at),
        "moved": lambda: instruments.tell_zero_may_have_moved(hull.caliper, person=hull.person, now=at),
    }[change]()

    hull.opening.refresh_from_db()
    assert not Review.objects.filter(opening=hull.opening, serial=hull.opening.serial).exists()


def test_a_kept_review_is_the_review(hull):
    record(hull, "gap", 24_500_000, method="paper_strip")
    hull.opening.refresh_from_db()

    made = review_of(hull.opening)
    kept = review_of(hull.opening)

    assert Review.objects.filter(opening=hull.opening).count() == 1
    assert kept == made


def test_a_gap_read_over_a_plank_taken_off_since_says_nothing_of_the_gap_now(hull):
    hang(hull, "1", LAID_DOWN + DAY)
    record(hull, "gap", 20_000_000, LAID_DOWN + 2 * DAY, method="paper_strip")
    planks.take_out_strake(hull.strakes["1"], "taken_off", person=hull.person, now=LAID_DOWN + 3 * DAY, reason="split")

    off = facts_of(hull.opening)
    hang(hull, "1", LAID_DOWN + 4 * DAY)

    assert off.gaps == ()
    assert facts_of(hull.opening).gaps == ()
    assert [gap.hung for gap in facts_of(hull.opening, as_of=LAID_DOWN + 2.5 * DAY).gaps] == [frozenset({"1"})]


def test_a_gap_read_once_the_plank_was_off_counts(hull):
    hang(hull, "1", LAID_DOWN + DAY)
    planks.take_out_strake(hull.strakes["1"], "taken_off", person=hull.person, now=LAID_DOWN + 2 * DAY, reason="split")
    record(hull, "gap", 25_000_000, LAID_DOWN + 3 * DAY, method="paper_strip")
    hang(hull, "1", LAID_DOWN + 4 * DAY)

    assert [gap.hung for gap in facts_of(hull.opening).gaps] == [frozenset()]


@pytest.mark.parametrize("cut_before", [True, False])
def test_a_gap_read_while_a_strake_hung_by_mistake_was_read_without_it(hull, cut_before):
    if cut_before:
        planks.cut_strake(hull.strakes["1"], person=hull.person, now=LAID_DOWN + DAY / 2)
    hang(hull, "1", LAID_DOWN + DAY)
    record(hull, "gap", 25_000_000, LAID_DOWN + 2 * DAY, method="paper_strip")
    planks.unhang_strake(hull.strakes["1"], person=hull.person, now=LAID_DOWN + 3 * DAY, reason="the other side")
    mistaken = facts_of(hull.opening)
    hang(hull, "1", LAID_DOWN + 4 * DAY)

    assert [gap.hung for gap in mistaken.gaps] == [frozenset()]
    assert [gap.hung for gap in facts_of(hull.opening).gaps] == [frozenset()]


def test_a_strake_of_which_the_taking_off_is_undone_hung_all_along(hull):
    hang(hull, "1", LAID_DOWN + DAY)
    record(hull, "gap", 20_000_000, LAID_DOWN + 2 * DAY, method="paper_strip")
    planks.take_out_strake(hull.strakes["1"], "taken_off", person=hull.person, now=LAID_DOWN + 3 * DAY, reason="split")
    step = hull.strakes["1"].planks.get().steps.last()
    step_back(step, person=hull.person, now=LAID_DOWN + 4 * DAY)

    assert [gap.hung for gap in facts_of(hull.opening).gaps] == [frozenset({"1"})]


def test_a_hanging_that_is_undone_never_was(hull):
    hang(hull, "1", LAID_DOWN + DAY)
    record(hull, "gap", 25_000_000, LAID_DOWN + 2 * DAY, method="paper_strip")
    step_back(hull.strakes["1"].planks.get().steps.last(), person=hull.person, now=LAID_DOWN + 3 * DAY)
    hang(hull, "1", LAID_DOWN + 4 * DAY)

    assert [gap.hung for gap in facts_of(hull.opening).gaps] == [frozenset()]
