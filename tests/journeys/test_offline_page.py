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


def test_it_says_whose_name_stands_under_what_is_recorded(phone):
    expect(phone.page.get_by_text("Recorded as Tobin Ashgrave.")).to_be_visible()


def unsent_note(tobin, laid_down) -> None:
    """Take the next strakes along, and begin a note that is not sent."""
    tobin.page.goto(laid_down.pages["bench"])
    tobin.page.wait_for_selector("html[data-packet=kept]", state="attached")
    tobin.page.goto(laid_down.pages["photo-note"])
    tobin.page.locator("[name=note]").fill("For my own eyes.")
    tobin.page.wait_for_function("() => reckoner.all('drafts').then(all => all.length === 1)")


def open_note(page):
    page.locator("summary", has_text="Photo + note").click()
    return page.locator("details[open] [name=note]")


def test_a_lapsed_sign_in_shows_no_draft_neither_then_nor_later_without_a_signal(sample_log, laid_down, visit):
    tobin = visit(sample_log, "phone", signed_in=True)
    page = tobin.page
    unsent_note(tobin, laid_down)
    page.evaluate("navigator.serviceWorker.ready")
    tobin.context.clear_cookies(name=laid_down.cookie["name"])

    for offline in (False, True):
        tobin.context.set_offline(offline)
        page.goto("/offline/")
        expect(page.get_by_text("Recorded as Tobin Ashgrave.")).to_be_visible()
        note = open_note(page)
        expect(note).to_have_value("")
        note.fill("Another hand.")
        page.wait_for_timeout(300)
        assert "For my own eyes." in page.evaluate("reckoner.all('drafts').then(all => JSON.stringify(all))")
    tobin.context.set_offline(False)

    tobin.context.add_cookies([laid_down.cookie | {"url": tobin.address}])
    page.goto(laid_down.pages["photo-note"])
    expect(page.locator("[name=note]")).to_have_value("For my own eyes.")
    tobin.context.set_offline(True)
    page.goto("/offline/")
    expect(open_note(page)).to_have_value("For my own eyes.")
    tobin.context.set_offline(False)
    assert tobin.forgive(NO_SIGNAL + "|401") > 0


def test_another_persons_work_is_gone_from_the_phone_at_the_first_page_of_the_next(sample_log, laid_down, visit):
    tobin = visit(sample_log, "phone", signed_in=True)
    page = tobin.page
    unsent_note(tobin, laid_down)
    page.evaluate("""reckoner.all('packets').then(([one]) =>
      reckoner.put('packets', Object.assign(one, {key: 'other', owner: 'another', name: 'Her hull'})))""")

    page.goto("/offline/")
    expect(page.get_by_text("Recorded as Tobin Ashgrave.")).to_be_visible()
    assert page.get_by_text("Her hull").count() == 0
    page.goto("/account/")

    page.wait_for_function("() => window.reckoner && reckoner.all('packets').then(all => all.length === 1)")
