"""A draft of the plan by keyboard alone: from cell to cell until the station closes to zero, and without scripts."""

import subprocess
import sys

import pytest
from playwright.sync_api import expect

from tests.endurance.server import ROOT, environment_of

pytestmark = pytest.mark.journeys

_BEGIN = """
import django
django.setup()
from datetime import UTC, datetime
from django.urls import reverse
from buildlog.actions.plans import copy_revision
from buildlog.models import PlanRevision

standing = PlanRevision.objects.get(state="in_force")
draft = copy_revision(standing, reason="Wider at the bilge.", person=None, now=datetime.now(UTC))
print(reverse("revision-edit", args=[standing.build.uuid, draft.uuid]) + "?side=port")
"""


@pytest.fixture
def draft_page(sample_log) -> str:
    """A draft of the sample's plan, begun in the log that is served; where it is edited."""
    told = subprocess.run(
        [sys.executable, "-c", _BEGIN], env=environment_of(sample_log.data), cwd=ROOT, capture_output=True, text=True,
        check=False, timeout=60,
    )  # fmt: skip
    assert told.returncode == 0, told.stderr
    return told.stdout.strip()


def cell(one, label, at):
    return one.page.get_by_label(f"Strake {label} at {at}", exact=True)


def sum_at(one, at):
    """The foot of a station's column."""
    heads = one.page.locator("[data-cells] thead th").all_inner_texts()
    index = next(i for i, head in enumerate(heads) if head.split("\n")[0] == at)
    return one.page.locator("[data-cells] tr.sum > *").nth(index)


def test_keyboard_alone_goes_through_cells_to_a_sum_of_zero(sample_log, visit, draft_page):
    tobin = visit(sample_log, "desk", signed_in=True)
    tobin.page.goto(draft_page)
    keys = tobin.page.keyboard
    expect(sum_at(tobin, "M")).to_have_text("0")
    planned = cell(tobin, "9", "M").input_value()

    cell(tobin, "9", "M").focus()
    keys.press("Control+a")
    keys.type("3,74")
    keys.press("Enter")

    # 3.84 is 3.8364583 exactly; 3.74 leaves 0.096 to give.
    expect(sum_at(tobin, "M")).to_contain_text("short 0.096")
    expect(cell(tobin, "8", "M")).to_be_focused()
    keys.press("ArrowDown")
    expect(cell(tobin, "7", "M")).to_be_focused()
    keys.press("ArrowUp")
    keys.press("ArrowUp")
    expect(cell(tobin, "9", "M")).to_be_focused()
    keys.press("ArrowRight")
    expect(cell(tobin, "9", "Q")).to_be_focused()
    keys.press("ArrowLeft")
    # What was left goes to its neighbours by the form, by Tab and Space and Enter.
    tobin.page.get_by_role("link", name="Give what is left, or divide evenly").focus()
    keys.press("Enter")
    expect(tobin.page.get_by_role("heading", level=1)).to_contain_text("Give what is left")
    tobin.page.get_by_label("9 (Bilge)").focus()
    keys.press("Space")
    tobin.page.get_by_role("button", name="Divide it").focus()
    keys.press("Enter")

    expect(tobin.page.get_by_role("heading", level=1)).to_contain_text("draft of the plan")
    expect(sum_at(tobin, "M")).to_have_text("0")
    assert cell(tobin, "9", "M").input_value() == "3.74" != planned
    expect(tobin.page.locator(".message")).to_contain_text("0.10 / 4 = 0.02 more each")


def test_what_cannot_be_read_stays_in_the_cell_with_its_sentence(sample_log, visit, draft_page):
    tobin = visit(sample_log, "desk", signed_in=True)
    tobin.page.goto(draft_page)

    cell(tobin, "7", "D").fill("wide")
    tobin.page.keyboard.press("Enter")

    expect(tobin.page.locator("#plan-problems .err")).to_contain_text("Width of strake 7 at D")
    expect(cell(tobin, "7", "D")).to_have_value("wide")
    # Escape at a field gives back what stood there, as the page last had it.
    expect(sum_at(tobin, "D")).to_have_text("0")


def test_without_scripts_enter_saves_the_row(sample_log, visit, draft_page):
    tobin = visit(sample_log, "desk", signed_in=True, java_script_enabled=False)
    tobin.page.goto(draft_page + "&size=full")

    cell(tobin, "7", "H").fill("7 1/2")
    cell(tobin, "7", "H").press("Enter")

    expect(cell(tobin, "7", "H")).to_have_value("7 1/2")
    expect(sum_at(tobin, "H")).to_contain_text("short")
    for width in (320, 360):
        tobin.page.set_viewport_size({"width": width, "height": 740})
        assert tobin.page.evaluate("document.documentElement.scrollWidth") <= width


def test_two_people_in_one_cell_both_figures_are_on_the_screen(sample_log, visit, draft_page):
    first, second = (visit(sample_log, "desk", signed_in=True) for _ in range(2))
    first.page.goto(draft_page)
    second.page.goto(draft_page)
    cell(first, "6", "12").fill("4.20")
    first.page.keyboard.press("Enter")
    expect(sum_at(first, "12")).to_contain_text("over")

    cell(second, "6", "12").fill("4.00")
    second.page.keyboard.press("Enter")

    expect(second.page.locator("#plan-problems .err")).to_contain_text("It is 4.20 now; yours is in the field.")
    expect(cell(second, "6", "12")).to_have_value("4.00")
    assert second.forgive("409") == 1
