"""What htmx puts into a page is what the page would be without it; a lapsed sign-in leads to sign-in and back."""

import pytest
from playwright.sync_api import expect

from tests.journeys.laid_down import BUILDER, PASSWORD
from tests.journeys.visitor import name_of

pytestmark = pytest.mark.journeys


@pytest.mark.parametrize(("entry", "odd"), [("widths", "9.99"), ("gaps", "99.99")])
def test_an_entry_is_drawn_asked_about_and_saved_alike_with_and_without_scripts(
    sample_log, laid_down, visit, entry, odd
):
    scripted = visit(sample_log, "desk", signed_in=True)
    plain = visit(sample_log, "desk", signed_in=True, java_script_enabled=False)
    for one in (scripted, plain):
        one.page.goto(laid_down.pages[entry])
        one.page.evaluate("document.body.dataset.stayed = 'yes'")
        one.press(one.button("All stations"))
        expect(one.page.locator(".entry-row")).to_have_count(11)
    assert rows_in(scripted) == rows_in(plain)

    for one in (scripted, plain):
        one.page.locator(".entry-row input[inputmode]").first.fill(odd)
        one.press(one.page.locator(".entry-done"))
        expect(one.page.locator(".err")).to_have_count(1)
    assert asked_in(scripted) == asked_in(plain)

    for one in (scripted, plain):
        row = one.page.locator(".entry-row").first
        row.locator("input[inputmode]").fill(row.get_attribute("data-wanted"))
        one.press(one.page.locator(".entry-done"))
        expect(one.page).to_have_url(name_of("/builds/*/*/*/*/saved/"))
        expect(one.page.get_by_role("link", name="Measure again; both are kept")).to_be_visible()
    # With scripts the page itself was never left.
    assert [one.page.evaluate("document.body.dataset.stayed") for one in (scripted, plain)] == ["yes", None]
    swapped = scripted.page.locator("main").inner_text()
    for one in (scripted, plain):
        one.page.reload()
    whole = scripted.page.locator("main").inner_text()
    assert whole == plain.page.locator("main").inner_text()
    assert swapped.splitlines()[0] == whole.splitlines()[0]


def rows_in(one) -> list[tuple]:
    rows = one.page.locator(".entry-row").all()
    return [(row.get_attribute("data-wanted"), row.locator(".entry-at").inner_text()) for row in rows]


def asked_in(one) -> tuple[str, str]:
    row = one.page.locator(".entry-row", has=one.page.locator(".err"))
    return row.locator(".err > p").first.inner_text(), row.locator("input[inputmode]").input_value()


@pytest.mark.parametrize("scripts", [True, False], ids=["htmx", "plain"])
def test_a_lapsed_sign_in_leads_to_sign_in_and_back_to_the_entry(sample_log, laid_down, visit, scripts):
    tobin = visit(sample_log, signed_in=True, java_script_enabled=scripts)
    page = tobin.page
    page.goto(laid_down.pages["gaps"])
    field = page.locator(".entry-row input[inputmode]").first
    field.fill(page.locator(".entry-row").first.get_attribute("data-wanted"))
    tobin.context.clear_cookies(name=laid_down.cookie["name"])

    tobin.press(page.locator(".entry-done:visible, .keypad .done:visible").first)

    expect(page).to_have_url(name_of("/sign-in/"))
    expect(page.get_by_text("has to be typed again")).to_be_visible()
    page.get_by_label("Name").fill(BUILDER)
    page.get_by_label("Password").fill(PASSWORD)
    tobin.press(tobin.button("Sign in"))
    expect(page).to_have_url(name_of("/builds/*/openings/*/gaps/"))
    expect(page.locator(".entry-row")).to_have_count(5)
    assert tobin.forgive("401") == (1 if scripts else 0)


def test_photographs_of_a_lapsed_sign_in_stay_chosen_and_the_note_stays_typed(sample_log, laid_down, visit):
    tobin = visit(sample_log, signed_in=True)
    page = tobin.page
    page.goto(laid_down.pages["photo-note"])
    page.locator("[name=note]").fill("A note that must not be lost.")
    picture = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": b"\xff\xd8\xff"}
    page.locator("[name=photos]").set_input_files([picture])
    tobin.context.clear_cookies(name=laid_down.cookie["name"])

    tobin.press(tobin.button("Keep it"))

    expect(page.locator(".err")).to_contain_text("a.jpg This photograph did not reach the log: you are signed out")
    assert page.locator("[name=photos]").evaluate("input => input.files.length") == 1
    assert page.locator("[name=note]").input_value() == "A note that must not be lost."
    assert tobin.forgive("401") == 1
