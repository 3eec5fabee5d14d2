"""A strake's own page."""

import html
import re
import uuid
from datetime import timedelta
from itertools import pairwise

import pytest
from django.urls import reverse

from buildlog.actions.planks import hang_strake, unhang_strake
from buildlog.actions.readings import amend_reading, record_reading
from buildlog.measuring.reviews import trouble_of
from buildlog.models import PlanPlank
from buildlog.queries.planks import states_of_strakes
from tests.hulls import LAID_DOWN, hang, lay_down_hull


def page_of(hull, label, browser):
    return browser.get(reverse("strake-detail", args=[hull.build.uuid, hull.strakes[label].uuid]))


def record(hull, nm, **fields):
    return record_reading(
        hull.build, client_uuid=uuid.uuid4(), now=LAID_DOWN + timedelta(days=1), kind="width",
        station=hull.stations[0], opening=hull.opening, strake=hull.strakes["1"], value_nm=nm,
        typed=f"{nm / 1e6:.2f}", unit="mm", method="jaws", instrument=hull.caliper, person=hull.person, **fields,
    )[0]  # fmt: skip


def test_strake_shows_what_counts_and_what_is_kept(hull, owner, client_of):
    record(hull, 5_090_000)
    record(hull, 5_200_000, damp="damp")
    hang(hull, "1", LAID_DOWN + timedelta(days=2))

    body = page_of(hull, "1", client_of(owner)).content.decode()

    assert "5.09" in body
    assert "wide 0.09" in body
    assert "read damp" in body
    assert "Hung 3 March 2026." in body


def test_strake_shows_a_corrected_figure_beside_the_one_read(hull, owner, client_of):
    from buildlog.actions.instruments import correct_zero

    record(hull, 5_090_000)
    epoch = hull.caliper.epochs.get()
    correct_zero(epoch, offset_nm=80_000, u_nm=5_000, reason="crumb", person=hull.person, now=LAID_DOWN)

    body = page_of(hull, "1", client_of(owner)).content.decode()

    assert "5.01" in body
    assert "read 5.09" in body


def test_strake_names_its_neighbours(hull, owner, client_of):
    body = page_of(hull, "3", client_of(owner)).content.decode()

    assert "2 keel side" in body
    assert "4 wale side" in body
    assert "the closing strake" in body


def test_a_strake_of_another_build_is_not_found(hull, stranger, owner, client_of):
    other = lay_down_hull(stranger, name="Another hull")
    url = reverse("strake-detail", args=[hull.build.uuid, other.strakes["1"].uuid])

    assert client_of(owner).get(url).status_code == 404


def test_strake_shows_every_reading_with_who_mended_it(hull, owner, client_of):
    wrong = record(hull, 5_900_000)
    amend_reading(wrong, act="withdraws", reason="read from the wrong edge", person=hull.person, now=LAID_DOWN)

    body = page_of(hull, "1", client_of(owner)).content.decode()

    assert "withdrawn: read from the wrong edge" in body
    assert f"{hull.person.display_name}" in body.split("withdrawn: read from the wrong edge")[1].split("</li>")[0]


@pytest.mark.parametrize(("deed", "says"), [
    ("planks-cut", "Cut, not hung."), ("planks-hang", "Hung "), ("planks-hang-unmeasured", "Not measured."),
    ("planks-hang-before-log", "Hung before this log."),
])  # fmt: skip
def test_a_deed_of_the_strake_page_comes_back_to_it(hull, owner, client_of, deed, says):
    url = reverse(deed, args=[hull.build.uuid, hull.strakes["1"].uuid])

    answer = client_of(owner).post(url, {"back": "strake"}, follow=True)

    assert answer.redirect_chain[-1][0] == reverse("strake-detail", args=[hull.build.uuid, hull.strakes["1"].uuid])
    assert says in answer.content.decode()


def test_not_measured_is_remembered_as_of_a_day_before_it_was_undone(hull):
    strake, nights = hull.strakes["1"], [LAID_DOWN + timedelta(days=n) for n in range(1, 5)]
    hang_strake(strake, person=hull.person, now=nights[0], measured="not_measured")
    unhang_strake(strake, person=hull.person, now=nights[2], reason="it was the other side")

    then, now = states_of_strakes([strake.pk], nights[1]), states_of_strakes([strake.pk], nights[3])

    assert (then[strake.pk].state, then[strake.pk].measured) == ("hung", "not_measured")
    assert strake.pk not in now


def test_planks_that_took_a_step_together_are_told_together(hull, owner, client_of):
    plan = hull.strakes["1"].plans.get()
    frames = list(hull.build.frames.order_by("number"))
    for order, (first, last) in enumerate(pairwise(frames), start=1):
        PlanPlank.objects.create(plan_strake=plan, order=order, from_frame=first, to_frame=last)
    hang_strake(hull.strakes["1"], person=hull.person, now=LAID_DOWN)

    body = page_of(hull, "1", client_of(owner)).content.decode()

    assert "1-1, 1-2 hung" in " ".join(body.split())


@pytest.fixture
def hopeless(hull):
    """A hull whose girth was misread as less than what hangs: its facts cannot be reckoned."""
    record(hull, 5_090_000)
    hang(hull, "1", LAID_DOWN + timedelta(days=2))
    record_reading(
        hull.build, client_uuid=uuid.uuid4(), now=LAID_DOWN + timedelta(days=3), kind="girth",
        station=hull.stations[0], opening=hull.opening, value_nm=2_000_000, typed="2.00", unit="mm", method="strip",
        instrument=hull.strip, person=hull.person,
    )  # fmt: skip
    assert trouble_of(hull.opening)
    return hull


def test_widths_that_count_are_shown_as_read_where_nothing_can_be_reckoned(hopeless, owner, client_of):
    body = " ".join(page_of(hopeless, "1", client_of(owner)).content.decode().split())

    assert re.findall(r'<td class="wanted">([\d.]+)<', body) == ["5.09"]
    assert "wide" not in body[body.index("widths-head") : body.index("readings-head")]
    assert html.unescape(body).count(trouble_of(hopeless.opening)) == 1
