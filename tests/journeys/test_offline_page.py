"""The page without a signal on a small phone: what the keys are for is seen above them, strake after strake."""

import re

import pytest
from playwright.sync_api import expect

from tests.journeys.visitor import Visitor

pytestmark = pytest.mark.journeys
NO_SIGNAL = "ERR_INTERNET_DISCONNECTED|ERR_CONNECTION_REFUSED|ERR_FAILED|Failed to load resource"


@pytest.fixture
def phone(sample_log, laid_down, visit):
    """A small phone that has the next strakes with it and has lost its signal."""
    tobin = visit(sample_log, "phone", signed_in=True)
    tobin.page.set_viewport_size({"width": 360, "height": 640})
    tobin.page.goto(laid_down.pages["bench"])
    tobin.page.evaluate("navigator.serviceWorker.ready")
    tobin.page.wait_for_selector("html[data-packet=kept]", state="attached")
    tobin.context.set_offline(True)
    tobin.page.reload()
    expect(tobin.page.locator("h1")).to_have_text("No signal")
    yield tobin
    tobin.context.set_offline(False)
    tobin.forgive(NO_SIGNAL)


def clear_of_the_keys(form, selector) -> bool:
    """Say whether an element stands wholly above the keys and below the head of the screen."""
    seen = """(form, selector) => {
      const box = form.querySelector(selector).getBoundingClientRect();
      return box.top >= 0 && box.bottom <= form.querySelector('.keypad').getBoundingClientRect().top + 1; }"""
    return form.evaluate(seen, selector)


def open_widths(phone: Visitor, number: int):
    """Scroll to a strake's line as a thumb does, open it, and return its form."""
    line = phone.page.locator("details > summary", has_text="widths").nth(number)
    line.evaluate("one => one.scrollIntoView({block: 'center'})")
    line.tap()
    form = phone.page.locator("details[open] form.entry")
    expect(form).to_have_count(1)
    return form


def test_two_strakes_are_typed_by_the_keys_each_row_above_them(phone):
    for number in (0, 1):
        form = open_widths(phone, number)
        assert clear_of_the_keys(form, "h2")
        rows = form.locator(".entry-row").count()
        for row in range(rows):
            assert clear_of_the_keys(form, ".entry-row:has(> input:focus)"), (number, row)
            wanted = form.locator(".entry-row").nth(row).get_attribute("data-wanted")
            for figure in wanted.replace(".", ""):
                form.locator(".keypad button", has_text=re.compile(f"^{figure}$")).tap()
        form.locator(".keypad .done").tap()
        expect(phone.page.locator("[data-kept-here]")).to_have_count(number + 1)
    assert len(phone.page.evaluate("reckoner.all('waiting')")) == 2


def test_opening_another_strake_closes_the_one_before_and_keeps_its_figures(phone):
    first = open_widths(phone, 0)
    first.locator(".keypad button", has_text=re.compile("^3$")).tap()
    typed = first.locator("input[inputmode]").first.input_value()

    open_widths(phone, 1)
    again = open_widths(phone, 0)

    assert typed
    assert again.locator("input[inputmode]").first.input_value() == typed
