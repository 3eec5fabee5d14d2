"""The sums of an opening: every note that says a figure is followed by a link to its own sum, and adds up there."""

import re
import uuid
from datetime import timedelta
from html import unescape

import pytest
from django.urls import reverse

from buildlog.actions.events import raise_serial
from buildlog.actions.readings import record_reading
from buildlog.views.openings import note_number
from tests.hulls import LAID_DOWN, hang, lay_down_hull


@pytest.fixture
def wide(owner):
    """Three strakes of nine hung from the wale, read 0.10 wide at every station."""
    hull = lay_down_hull(owner, labels=9)
    for number, label in enumerate(("9", "8", "7")):
        day = LAID_DOWN + timedelta(days=1 + number)
        for station in hull.stations:
            record_reading(
                hull.build, client_uuid=uuid.uuid4(), now=day, kind="width", station=station, opening=hull.opening,
                strake=hull.strakes[label], value_nm=5_100_000, typed="5.10", unit="mm", method="jaws",
                instrument=hull.caliper, person=hull.person,
            )  # fmt: skip
        hang(hull, label, day)
    return hull


def link_to_sum(page: str) -> str:
    return unescape(re.search(r'3 of 3 wide.*?href="([^"]+)"', page).group(1))


@pytest.mark.parametrize("name", ["hull", "drift-list"])
def test_note_leads_to_its_sum_which_stands_open(wide, client_of, owner, name):
    browser = client_of(owner)
    address = link_to_sum(browser.get(reverse(name, args=[wide.build.uuid])).content.decode())

    page = browser.get(address).content.decode()

    _, _, anchor = address.partition("#")
    (opened,) = re.findall(r'<details class="ruled" id="(note-\d+)" open>', page)
    assert opened == anchor
    said = page[page.index(f'id="{anchor}"') :].partition("</details>")[0]
    assert re.findall(r'<td class="num">(.*?)</td>', said)[:4] == ["0.10", "0.10", "0.10", "0.30"]


def test_sum_of_a_note_stays_on_the_day_that_is_shown(wide, client_of, owner):
    browser, day = client_of(owner), (LAID_DOWN + timedelta(days=9)).date().isoformat()

    address = link_to_sum(browser.get(reverse("hull", args=[wide.build.uuid]), {"on": day}).content.decode())

    assert f"on={day}&note=" in address
    assert "0.30" in browser.get(address).content.decode()


def test_widths_just_saved_lead_to_the_sum_of_their_note(wide, client_of, owner):
    saved = reverse("widths-saved", args=[wide.build.uuid, wide.strakes["7"].uuid])

    assert "note=" in link_to_sum(client_of(owner).get(saved).content.decode())


@pytest.mark.parametrize("typed", ["", "x", "-1", "٣٣٣٣", "9" * 5000, "99"])
def test_note_that_is_not_there_opens_none(wide, client_of, owner, typed):
    page = client_of(owner).get(reverse("opening-sums", args=[wide.build.uuid, wide.opening.uuid]), {"note": typed})

    assert page.status_code == 200
    assert not re.search(r'id="note-\d+" open', page.content.decode())


def test_number_of_a_note_is_read_as_it_was_linked():
    assert note_number("12") == 12


def test_rules_behind_a_sum_are_told_with_the_limits_of_this_plan(wide, client_of, owner):
    wide.revision.openings.update(step_permille=55, closing_permille=120)
    raise_serial(wide.opening)

    page = client_of(owner).get(reverse("opening-sums", args=[wide.build.uuid, wide.opening.uuid])).content.decode()

    assert "Forgiven is a step of 5.5 % of the closing strake" in unescape(page)
    assert "and 12 % of the closing one" in page
