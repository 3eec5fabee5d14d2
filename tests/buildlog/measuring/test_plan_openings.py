"""Warnings of a draft: strake, station, figures, rule; strakes that nobody can change are not warned of."""

import pytest

from buildlog.actions.plans import copy_revision
from buildlog.measuring.plan_openings import warnings_of
from buildlog.models import Opening, PlanWidth
from buildlog.queries.plan_widths import draft_opening
from tests.hulls import hang, lay_down_hull

INCH_NM = 25_400_000 / 48


@pytest.fixture
def draft(owner, clock):
    hull = lay_down_hull(owner, width_mm=9 * 25.4 / 48)
    revision = copy_revision(hull.revision, reason="", person=hull.person, now=clock())
    return hull, revision


def set_width(revision, label, station, inches):
    PlanWidth.objects.filter(plan_strake__revision=revision, plan_strake__label=label, station__name=station).update(
        width_nm=round(inches * INCH_NM)
    )


def found(draft):
    hull, revision = draft
    return warnings_of(draft_opening(revision, Opening.objects.select_related("build").get(pk=hull.opening.pk)))


def test_even_plan_has_none(draft):
    assert found(draft) == []


def test_girth_too_small_for_five_asks_for_a_drop_strake(draft):
    """19 in / 5 = 3.8 in against 9 in, under half: JOB row 12's case; the limit is a rule of thumb (2006)."""
    for label in "12345":
        set_width(draft[1], label, "F", 19 / 5)

    (warning,) = found(draft)

    assert warning.labels == ("1", "2", "3", "4", "5")
    assert warning.sentence == (
        "Strakes 1, 2, 3, 4, 5 at F: 3.8 in (2.01 mm) against 9 in (4.76 mm) at the widest. "
        "A drop strake would keep its width."
    )
    assert "50 % of the widest" in warning.rule
    assert "2006" in warning.rule


def test_just_half_is_not_warned_of(draft):
    set_width(draft[1], "2", "F", 4.5)

    assert found(draft) == []


def test_wider_than_the_stock_and_than_one_and_a_half(draft):
    hull, revision = draft
    Opening.objects.filter(pk=hull.opening.pk).update(stock_width_nm=round(10 * INCH_NM))
    set_width(revision, "4", "A", 14)

    stock, wide = found(draft)

    assert stock.sentence == "Strake 4 at A: 14 in (7.41 mm), and the stock is 10 in (5.29 mm) wide."
    assert wide.sentence.startswith("Strake 4 at A: 14 in (7.41 mm) against a full width of 9 in (4.76 mm).")


def test_hung_strake_is_not_warned_of(draft, clock):
    hull, revision = draft
    set_width(revision, "1", "F", 2)
    hang(hull, "1", clock())

    assert found(draft) == []
