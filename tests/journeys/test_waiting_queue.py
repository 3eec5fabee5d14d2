"""A list of several items on one phone: none takes another's place, and none holds up what stands behind it."""

import pytest
from playwright.sync_api import expect

from tests.journeys.flight_mode import rows, scripts_run, send, until, waiting
from tests.journeys.visitor import name_of

pytestmark = pytest.mark.journeys


NEW_WORRY = """async ([url, ...texts]) => { for (const text of texts) await reckoner.keep({id: reckoner.newId(), url,
  page: url, title: text, fields: [['kind', 'worry'], ['text', text], ['strake', ''], ['operation', '']]}); }"""


def worries(sample_log, *texts):
    return [rows(sample_log, "SELECT COUNT(*) FROM buildlog_worry WHERE text = ?", text)[0][0] for text in texts]


def write(visitor, page, text):
    page.locator("[name=text]").fill(text)
    visitor.press(page.locator("form[data-keep] button.go"))


def answered(page, signal):
    if signal:
        expect(page).to_have_url(name_of("/builds/*/bench/"))
    else:
        expect(page.locator("[data-kept-here]")).to_be_visible()


@pytest.mark.parametrize("signal", [False, True], ids=["both wait", "the first is taken"])
def test_two_tabs_of_one_form_keep_what_each_of_them_wrote(tobin, sample_log, laid_down, signal):
    texts = [f"{word} tab, {'with' if signal else 'without'} a signal." for word in ("First", "Second")]
    first = tobin.page
    first.goto(laid_down.pages["write-down"])
    first.locator("[name=kind][value=worry]").check(force=True)
    first.locator("[name=text]").fill("begun")
    until(lambda: first.evaluate("reckoner.all('drafts').then(all => all.length)") == 1, "the draft")
    second = tobin.new_page()
    second.goto(laid_down.pages["write-down"])
    expect(second.locator("[name=text]")).to_have_value("begun")
    tobin.context.set_offline(not signal)

    write(tobin, first, texts[0])
    answered(first, signal)
    write(tobin, second, texts[1])
    answered(second, signal)

    if not signal:
        assert len(waiting(first)) == 2
    tobin.context.set_offline(False)
    send(second)
    until(lambda: waiting(second) == [], "both to be sent")
    assert worries(sample_log, *texts) == [1, 1]


def test_an_item_that_the_log_fails_at_holds_up_nothing_and_needs_you_after_five_tries(tobin, sample_log, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["write-down"])
    scripts_run(page)

    def fail(route):
        if "Poisoned" in (route.request.post_data or ""):
            return route.fulfill(status=500, content_type="application/json", body='{"message": "failed"}')
        return route.fallback()

    page.route("**/writings/new/", fail)
    page.evaluate(NEW_WORRY, [laid_down.pages["write-down"], "Poisoned.", "Behind it.", "Behind both."])

    page.evaluate("reckoner.flush()")
    assert worries(sample_log, "Poisoned.", "Behind it.", "Behind both.") == [0, 1, 1]
    assert [(title, needs) for title, _tries, needs in waiting(page)] == [("Poisoned.", "")]
    for _ in range(4):
        page.evaluate("reckoner.flush()")
    (_title, _tries, needs), = waiting(page)
    assert "five" in needs
    page.goto("/waiting/")
    line = page.locator("[data-waiting-list] li")
    expect(line.locator(".err")).to_contain_text("Needs you: " + needs)

    page.unroute("**/writings/new/")
    tobin.press(line.get_by_role("button", name="Send it again"))
    until(lambda: waiting(page) == [], "the item, once the log takes it")
    assert worries(sample_log, "Poisoned.") == [1]


def test_a_photograph_whose_post_never_ends_goes_after_the_words_and_needs_you(tobin, sample_log, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["photo-note"])
    scripts_run(page)
    page.route("**/photo-note/", lambda route: route.abort("timedout") if route.request.method == "POST" else
               route.fallback())  # fmt: skip
    page.evaluate(
        """url => reckoner.keep({id: reckoner.newId(), url, page: url, title: 'slow',
        fields: [['batch', reckoner.newId()]], photo: {field: 'photos', name: 'slow.jpg', type: 'image/jpeg',
        bytes: new ArrayBuffer(1000)}})""",
        laid_down.pages["photo-note"],
    )  # fmt: skip
    page.evaluate(NEW_WORRY, [laid_down.pages["write-down"], "Behind the photograph."])

    page.evaluate("reckoner.flush()")
    assert worries(sample_log, "Behind the photograph.") == [1]
    for _ in range(4):
        page.evaluate("reckoner.flush()")

    (title, _tries, needs), = waiting(page)
    assert (title, bool(needs)) == ("slow", True)


def test_words_that_no_longer_reach_the_log_wait_without_being_counted_against(tobin, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["write-down"])
    scripts_run(page)
    tobin.context.set_offline(True)
    page.evaluate(NEW_WORRY, [laid_down.pages["write-down"], "No signal at all."])

    for _ in range(6):
        page.evaluate("reckoner.flush()")

    assert waiting(page) == [["No signal at all.", 0, ""]]
    page.evaluate("reckoner.all('waiting').then(([one]) => reckoner.drop('waiting', one.n))")
