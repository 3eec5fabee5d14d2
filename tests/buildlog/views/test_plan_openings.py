"""Seam, limits and stock of a draft: percent as typed, mm beside, and what two people do to one page."""

import pytest
from django.urls import reverse

from buildlog.actions.plans import copy_revision
from buildlog.models import Opening, PlanOpening
from buildlog.queries.plan_openings import limits_as_seen


@pytest.fixture
def draft(hull, clock):
    return copy_revision(hull.revision, reason="limits", person=hull.person, now=clock())


def url(hull, draft):
    return reverse("plan-limits", args=[hull.build.uuid, draft.uuid, hull.opening.uuid])


def seen(hull, draft):
    return limits_as_seen(PlanOpening.objects.get(revision=draft), Opening.objects.get(pk=hull.opening.pk))


def post(browser, hull, draft, **changes):
    sent = {"seam": "0", "step": "4", "closing": "10", "narrow": "50", "wide": "150", "stock": "",
            "seen": seen(hull, draft)}  # fmt: skip
    return browser.post(url(hull, draft), sent | changes)


def test_limits_are_kept_as_thousandths_and_shown_in_mm(client_of, owner, hull, draft):
    browser = client_of(owner)

    post(browser, hull, draft, step="7,5", seam="0.02", stock="6 mm")

    plan = PlanOpening.objects.get(revision=draft)
    assert (plan.step_permille, plan.planned_seam_nm) == (75, 20_000)
    assert Opening.objects.get(pk=hull.opening.pk).stock_width_nm == 6_000_000
    # 7.5 % of the full width of 5.00 is 0.375, shown to the even hundredth.
    assert "now 0.38 mm at the full width" in browser.get(url(hull, draft)).content.decode()


def test_stock_counts_at_once_so_reviews_are_made_anew(client_of, owner, hull, draft):
    before = Opening.objects.get(pk=hull.opening.pk).serial

    post(client_of(owner), hull, draft, stock="6")

    assert Opening.objects.get(pk=hull.opening.pk).serial == before + 1


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"step": "four"}, "Step, %: &quot;four&quot; is not read"),
        ({"step": "0.5"}, "Step, %: must be from 1 to 50."),
        ({"wide": "90"}, "Widest, %: must be from 100 to 500."),
        ({"narrow": "12.34"}, "Narrowest, %: &quot;12.34&quot; is not read"),
        ({"closing": ""}, "Closing strake, %: nothing was typed."),
        ({"closing": "۵"}, "is not read"),
        ({"seam": "-1"}, "Planned seam cannot be below zero."),
        ({"stock": "0"}, "Stock width must be more than nothing."),
    ],
)
def test_what_cannot_be_read_names_its_field_and_stays(client_of, owner, hull, draft, changes, sentence):
    page = post(client_of(owner), hull, draft, **changes).content.decode()

    assert sentence in page
    assert f'value="{next(iter(changes.values()))}"' in page or not next(iter(changes.values()))
    assert PlanOpening.objects.get(revision=draft).step_permille == 40


def test_two_people_on_the_limits_the_loser_sees_both(client_of, owner, builder, hull, draft):
    looked_at = seen(hull, draft)
    post(client_of(builder), hull, draft, step="6")

    answer = post(client_of(owner), hull, draft, step="8", seen=looked_at)

    page = answer.content.decode()
    assert answer.status_code == 409
    assert "step 6 %" in page
    assert 'value="8"' in page
    assert PlanOpening.objects.get(revision=draft).step_permille == 60


def test_only_who_may_plan_may_change_limits(client_of, helper, reader, stranger, hull, draft):
    codes = [client_of(who).post(url(hull, draft)).status_code for who in (helper, reader, stranger)]

    assert codes == [403, 403, 404]
