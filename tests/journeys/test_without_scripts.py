"""Everything works with scripts off, twice-sent forms save once, and two people on one thing both keep their words."""

import re

import pytest
from playwright.sync_api import expect

from tests.journeys.visitor import name_of

pytestmark = pytest.mark.journeys


@pytest.fixture
def plain(sample_log, visit):
    """A phone with scripts off, signed in."""
    return visit(sample_log, signed_in=True, java_script_enabled=False)


def fill_widths(page) -> dict[str, str]:
    """Type what is wanted everywhere, and at the third place a figure in inches; return what is to stand there."""
    rows = page.locator(".entry-row")
    expect(rows).to_have_count(5)
    typed = {}
    for index, row in enumerate(rows.all()):
        wanted = row.get_attribute("data-wanted")
        typed[row.locator(".entry-at").inner_text().split()[0]] = wanted
        row.locator("input[inputmode]").fill(wanted if index != 2 else f"{float(wanted) / 25.4:.3f}")
    return typed


def test_an_odd_figure_is_asked_about_beside_its_field_and_the_answer_is_saved(plain, laid_down):
    page = plain.page
    page.goto(laid_down.pages["widths"])
    expect(page.locator(".keypad")).to_be_hidden()
    typed = fill_widths(page)
    at = list(typed)[2]
    inches = page.locator(".entry-row").nth(2).locator("input[inputmode]").input_value()

    plain.press(page.locator(".entry-done"))

    asked = page.locator(".entry-row", has=page.locator(".err"))
    expect(asked).to_have_count(1)
    assert asked.locator(".entry-at").inner_text().split()[0] == at
    expect(asked.locator(".err")).to_contain_text(f"{inches} is far under the plan")
    expect(asked.locator(".err")).to_contain_text(f"Did you mean {inches} in")
    assert asked.locator("input[inputmode]").input_value() == inches
    expect(page.get_by_text("4 figures are saved.")).to_be_visible()
    meant = asked.get_by_role("button").first.inner_text()
    assert abs(float(meant) - float(typed[at])) < 0.02
    plain.press(asked.get_by_role("button").first)
    expect(page).to_have_url(name_of("/builds/*/strakes/*/widths/saved/"))
    rows = page.locator("table.answer tbody tr").all()
    saved = {one.locator("th").inner_text().split()[0]: one.locator("td.measured").inner_text() for one in rows}
    # What was read stands first; a zero that is known to be off is taken off under it.
    assert {place: figure.split()[0] for place, figure in saved.items()} == typed | {at: meant}


def test_the_same_form_sent_twice_saves_once(plain, laid_down):
    page = plain.page
    page.goto(laid_down.pages["gaps"])
    rows = page.locator(".entry-row")
    for row in rows.all():
        row.locator("input[inputmode]").fill(row.get_attribute("data-wanted"))
    session_before, before = newest_session(plain, laid_down)
    fields = [field for field in page.locator("#gaps input").all() if is_sent(field)]
    sent = {field.get_attribute("name"): field.input_value() for field in fields}
    page.locator(".entry-done").dblclick()
    expect(page).to_have_url(name_of("/builds/*/openings/*/gaps/saved/"))

    # A lost answer: the phone sends the very same form again.
    again = plain.context.request.post(laid_down.pages["gaps"], form=sent, headers={"Origin": plain.address})

    assert again.ok
    assert again.url.endswith("/gaps/saved/")
    session, after = newest_session(plain, laid_down)
    # Whoever comes first begins today's session.
    assert after == rows_of(sent) + (before if session == session_before else 0)


def is_sent(field) -> bool:
    return field.get_attribute("type") != "radio" or field.is_checked()


def rows_of(sent) -> int:
    return len([name for name in sent if re.fullmatch(r"at\d+", name)])


def newest_session(plain, laid_down) -> tuple[str, int]:
    """Return the newest session of the log, and how many gaps of port it says it read."""
    log = plain.context.request.get(laid_down.pages["log"]).text()
    newest = log.split('<article class="session"')[1]
    found = re.search(r"(\d+) gaps? port", newest)
    return re.search(r'id="(session-[0-9a-f-]+)"', newest)[1], int(found[1]) if found else 0


def test_two_who_mend_one_reading_are_shown_both_texts(sample_log, laid_down, visit, plain):
    other = visit(sample_log, "desk", signed_in=True)
    for one in (plain, other):
        one.page.goto(laid_down.pages["amend"])
    mend(plain, "4.71", "the jaws were not square")
    expect(plain.page).to_have_url(name_of("/builds/*/strakes/*/widths/saved/"))

    mend(other, "4.77", "read again with the light on")

    both = other.page.locator(".both")
    expect(both).to_contain_text("the jaws were not square")
    expect(both).to_contain_text("4.71")
    expect(both).to_contain_text("read again with the light on")
    expect(both).to_contain_text("4.77")
    assert other.page.locator("[name=figure]").input_value() == "4.77"
    assert other.page.locator("[name=reason]").input_value() == "read again with the light on"
    # The script asks first, then the form is sent plainly to show both texts.
    assert other.forgive("409") >= 1


def mend(visitor, figure: str, reason: str) -> None:
    visitor.page.locator("[name=figure]").fill(figure)
    visitor.page.locator("[name=reason]").fill(reason)
    visitor.press(visitor.button("Save it"))


def test_two_who_write_one_note_are_shown_both_texts(sample_log, laid_down, visit, plain):
    other = visit(sample_log, "desk", signed_in=True)
    for one in (plain, other):
        one.page.goto(laid_down.pages["session"])
    plain.page.locator("[name=note]").fill("The first of two notes.")
    plain.press(plain.button("Save it"))
    expect(plain.page).to_have_url(name_of("/builds/*/log/"))

    other.page.locator("[name=note]").fill("The second of two notes.")
    other.press(other.button("Save it"))

    expect(other.page.locator(".both-texts")).to_contain_text("The first of two notes.")
    assert other.page.locator("[name=note]").input_value() == "The second of two notes."
    # Once for the list that waits, which asks for JSON, and once for the page that shows both.
    assert other.forgive("409") == 2
    other.press(other.button("Save it"))
    expect(other.page).to_have_url(name_of("/builds/*/log/"))
    expect(other.page.get_by_text("The second of two notes.")).to_be_visible()
