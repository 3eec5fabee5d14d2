"""What htmx puts into a page is what the page would be without it; a lapsed sign-in leads to sign-in and back."""

import pytest
from PIL import Image
from playwright.sync_api import expect

from tests.buildlog.photos.file_parts import saved
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
    assert scripted.forgive("422") == 1

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
    told = "is kept on this phone and is sent then" if scripts else "has to be typed again"
    expect(page.get_by_text(told)).to_be_visible()
    page.get_by_label("Name").fill(BUILDER)
    page.get_by_label("Password").fill(PASSWORD)
    tobin.press(tobin.button("Sign in"))
    expect(page).to_have_url(name_of("/builds/*/openings/*/gaps/"))
    expect(page.locator(".entry-row")).to_have_count(5)
    assert (tobin.forgive("401") > 0) is scripts


def test_photographs_and_note_of_a_lapsed_sign_in_are_kept_and_arrive_after_it(sample_log, laid_down, visit):
    tobin = visit(sample_log, signed_in=True)
    page = tobin.page
    page.goto(laid_down.pages["photo-note"])
    page.locator("[name=note]").fill("A note that must not be lost.")
    picture = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": saved(Image.new("RGB", (80, 60), "teal"), "JPEG")}
    page.locator("[name=photos]").set_input_files([picture])
    tobin.context.clear_cookies(name=laid_down.cookie["name"])

    tobin.press(tobin.button("Keep it"))

    expect(page).to_have_url(name_of("/sign-in/"))
    page.get_by_label("Name").fill(BUILDER)
    page.get_by_label("Password").fill(PASSWORD)
    tobin.press(tobin.button("Sign in"))
    expect(page).to_have_url(name_of("/builds/*/photo-note/"))
    page.goto("/waiting/")
    expect(page.get_by_text("Nothing waits.")).to_be_visible()
    page.goto(laid_down.pages["log"])
    expect(page.get_by_text("A note that must not be lost.").first).to_be_visible()
    assert tobin.forgive("401") > 0


def test_girths_that_are_saved_lead_to_their_own_page(sample_log, laid_down, visit):
    tobin = visit(sample_log, "phone", signed_in=True)
    page = tobin.page
    page.goto(laid_down.pages["girths-entry"])
    row = page.locator(".entry-row").last
    row.locator("input[inputmode]").fill(row.get_attribute("data-wanted"))

    tobin.press(page.locator(".entry-done:visible, .keypad .done:visible").first)

    expect(page).to_have_url(name_of("/builds/*/plan/girths/"))
    expect(page.locator("main")).to_have_count(1)
    expect(page.locator("nav.bar")).to_be_visible()


@pytest.mark.parametrize("entry", ["widths", "gaps"])
def test_one_step_back_from_what_was_saved_is_the_entry_and_forward_is_what_was_saved(
    sample_log, laid_down, visit, entry
):
    tobin = visit(sample_log, "phone", signed_in=True)
    page = tobin.page
    page.goto(laid_down.pages["bench"])
    page.goto(laid_down.pages[entry])
    row = page.locator(".entry-row").first
    row.locator("input[inputmode]").fill(row.get_attribute("data-wanted"))
    tobin.press(page.locator(".entry-done:visible, .keypad .done:visible").first)
    expect(page).to_have_url(name_of("/builds/*/*/*/*/saved/"))
    expect(page.get_by_role("link", name="Measure again; both are kept")).to_be_visible()

    page.evaluate("history.back()")
    expect(page).to_have_url(name_of(f"/builds/*/*/*/{entry}/"))
    expect(page.locator("form.entry")).to_have_count(1)
    expect(page.get_by_role("link", name="Measure again; both are kept")).to_have_count(0)

    page.evaluate("history.forward()")
    expect(page).to_have_url(name_of("/builds/*/*/*/*/saved/"))
    expect(page.get_by_role("link", name="Measure again; both are kept")).to_be_visible()
    expect(page.locator("form.entry")).to_have_count(0)
