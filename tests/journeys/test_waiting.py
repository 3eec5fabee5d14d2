"""Nothing typed at the bench is lost without a signal: written down first, sent later, once each, in its own name."""

import json

import pytest
from PIL import Image
from playwright.sync_api import expect

from tests.buildlog.photos.file_parts import saved
from tests.journeys.flight_mode import (
    answer_once,
    done,
    figure_near,
    kept,
    rows,
    scripts_run,
    send,
    type_widths,
    typed,
    until,
    waiting,
)
from tests.journeys.laid_down import BUILDER, PASSWORD
from tests.journeys.visitor import name_of

pytestmark = pytest.mark.journeys


def test_with_a_signal_done_is_saved_and_nothing_waits(tobin, sample_log, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    figures = type_widths(page, 5)

    done(tobin)

    expect(page).to_have_url(name_of("/builds/*/strakes/*/widths/saved/"))
    assert [typed(sample_log, figure) for figure in figures] == [1] * 5
    assert waiting(page) == []
    expect(page.locator("#waiting")).to_be_hidden()


def test_without_a_signal_done_answers_at_once_and_all_is_sent_once_when_it_is_back(tobin, sample_log, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    figures = type_widths(page, 5)
    tobin.context.set_offline(True)

    kept(tobin)

    expect(page.locator("#waiting")).to_contain_text("1 item waits on this phone.")
    assert [typed(sample_log, figure) for figure in figures] == [0] * 5
    tobin.context.set_offline(False)
    until(lambda: waiting(page) == [], "the item to be sent")
    assert [typed(sample_log, figure) for figure in figures] == [1] * 5


def test_flight_mode_reload_widths_and_photographs_from_the_offline_page(tobin, sample_log, laid_down):
    """Job row 54: flight mode on, widths and photographs after a reload, flight mode off: all there, none twice."""
    page = tobin.page
    page.goto(laid_down.pages["bench"])
    page.evaluate("navigator.serviceWorker.ready")
    page.wait_for_selector("html[data-packet=kept]", state="attached")
    tobin.context.set_offline(True)
    page.reload()
    expect(page.locator("h1")).to_have_text("No signal")
    tobin.press(page.locator("summary", has_text="widths").first)
    form = page.locator("form.entry")
    # "wanted 4.43" stands beside the field, as on the strake's own page.
    figure = form.locator(".entry-side").first.inner_text().split()[-1] + "77"
    form.locator("input[inputmode]").first.fill(figure)
    page.reload()
    tobin.press(page.locator("summary", has_text="widths").first)
    expect(form.locator("input[inputmode]").first).to_have_value(figure)
    tobin.press(form.locator(".keypad .done"))
    expect(page.locator("[data-kept-here]")).to_contain_text("Kept on this phone")

    tobin.press(page.locator("summary", has_text="Photo + note"))
    pictures = [saved(Image.effect_noise((900, 700), 90), "JPEG"), saved(Image.new("RGB", (300, 200), "navy"), "JPEG")]
    page.locator("[name=photos]").set_input_files(
        [{"name": f"flight {n}.jpg", "mimeType": "image/jpeg", "buffer": one} for n, one in enumerate(pictures)]
    )
    page.locator("[name=note]").fill("Written in flight mode.")
    tobin.press(tobin.button("Keep it"))
    expect(page.locator("[data-kept-here]")).to_have_count(2)
    assert len(waiting(page)) == 4
    before = rows(sample_log, "SELECT COUNT(*) FROM buildlog_photo")[0][0]

    tobin.context.set_offline(False)
    page.goto("/waiting/")

    until(lambda: waiting(page) == [], "all four to be sent")
    send(page)
    assert rows(sample_log, "SELECT COUNT(*) FROM buildlog_photo")[0][0] == before + 2
    assert typed(sample_log, figure) == 1
    told = "SELECT COUNT(*) FROM buildlog_session WHERE note LIKE '%Written in flight mode.%'"
    assert rows(sample_log, told) == [(1,)]


def test_a_reply_lost_after_the_log_kept_it_makes_no_second_row(tobin, sample_log, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    figure, = type_widths(page)

    def lose(route):
        route.fetch()
        route.abort()

    answer_once(page, lose)
    kept(tobin)
    assert typed(sample_log, figure) == 1
    send(page)

    until(lambda: waiting(page) == [], "the second answer")
    assert typed(sample_log, figure) == 1


@pytest.mark.parametrize("status", [500, 503, 403, 413, 302])
def test_an_answer_that_is_not_the_logs_keeps_the_item(tobin, sample_log, laid_down, status):
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    figure, = type_widths(page)
    headers = {"Location": "/sign-in/"} if status == 302 else {}
    answer_once(page, lambda route: route.fulfill(status=status, body="<h1>no</h1>", headers=headers))

    kept(tobin)
    assert [(tries, needs) for _title, tries, needs in waiting(page)] == [(0, "")]
    send(page)

    until(lambda: waiting(page) == [], "the item to be sent after all")
    assert typed(sample_log, figure) == 1


def test_a_captive_portal_that_answers_200_to_everything_takes_nothing(tobin, sample_log, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    figure, = type_widths(page)
    portal = lambda route: route.fulfill(status=200, content_type="text/html", body="<h1>Welcome to our café</h1>")  # noqa: E731
    page.route("**/here/", portal)
    kept(tobin)
    page.unroute("**/here/")
    answer_once(page, portal)
    send(page)
    assert len(waiting(page)) == 1
    assert typed(sample_log, figure) == 0

    send(page)

    until(lambda: waiting(page) == [], "the item to be sent")
    assert typed(sample_log, figure) == 1


def test_a_portal_that_answers_in_json_takes_nothing_either(tobin, sample_log, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    figure, = type_widths(page)
    answer_once(page, lambda route: route.fulfill(status=200, content_type="application/json", body='{"ok": true}'))

    kept(tobin)

    assert len(waiting(page)) == 1
    send(page)
    until(lambda: waiting(page) == [], "the item to be sent")
    assert typed(sample_log, figure) == 1


def test_a_lapsed_sign_in_loses_nothing_and_sends_after_signing_in(tobin, sample_log, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    figure, = type_widths(page)
    tobin.context.clear_cookies(name=laid_down.cookie["name"])

    done(tobin)

    expect(page).to_have_url(name_of("/sign-in/"))
    expect(page.get_by_text("is kept on this phone and is sent then")).to_be_visible()
    page.get_by_label("Name").fill(BUILDER)
    page.get_by_label("Password").fill(PASSWORD)
    tobin.press(tobin.button("Sign in"))
    expect(page).to_have_url(name_of("/builds/*/strakes/*/widths/"))
    until(lambda: typed(sample_log, figure) == 1, "the figure to be sent")
    until(lambda: waiting(page) == [], "the list to be empty")


def test_a_token_that_is_gone_is_made_anew(tobin, sample_log, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    figure, = type_widths(page)
    tobin.context.clear_cookies(name="csrf")

    done(tobin)

    expect(page).to_have_url(name_of("/builds/*/strakes/*/widths/saved/"))
    assert typed(sample_log, figure) == 1


def test_another_persons_items_stay_closed_and_are_not_sent(tobin, sample_log, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    figure, = type_widths(page)
    page.route("**/here/", lambda route: route.fulfill(
        status=200, content_type="application/json", body=json.dumps({"account": "somebody-else", "token": "x" * 64})
    ))  # fmt: skip

    kept(tobin)
    send(page)
    assert len(waiting(page)) == 1
    assert typed(sample_log, figure) == 0
    page.goto("/waiting/")
    scripts_run(page)
    page.evaluate("reckoner.all('waiting').then(([one]) => reckoner.put('waiting', Object.assign(one, {owner: 'x'})))")
    page.reload()
    expect(page.locator("[data-waiting-list] li")).to_have_text("Another person's; closed until they sign in here.")
    assert figure not in page.content()

    page.unroute("**/here/")
    for _ in range(2):  # The first may be one that was on its way with the other account.
        send(page)
    assert len(waiting(page)) == 1
    assert typed(sample_log, figure) == 0


def test_two_tabs_at_once_send_ten_items_once_each(tobin, sample_log, laid_down):
    first, second = tobin.page, tobin.new_page()
    first.goto(laid_down.pages["widths"])
    second.goto(laid_down.pages["widths"])
    url, name = first.evaluate("location.pathname"), first.locator(".entry-row").first.get_attribute("data-name")
    figures = [figure_near(first) for _ in range(10)]
    tobin.context.set_offline(True)
    for figure in figures:
        first.evaluate(
            """([url, name, figure]) => reckoner.keep({id: reckoner.newId(), url, page: url, title: 'tabs', fields:
            [['damp', 'dry'], ['stage', 'cut'], [name, figure], [name + '-uuid', reckoner.newId()]]})""",
            [url, name, figure],
        )  # fmt: skip
    tobin.context.set_offline(False)
    for page in (first, second):
        scripts_run(page)
        page.evaluate("void reckoner.flush()")

    until(lambda: waiting(first) == [], "ten items to be sent")
    assert [typed(sample_log, figure) for figure in figures] == [1] * 10


def test_refused_three_times_needs_you_and_holds_up_nothing(tobin, sample_log, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    url, good = page.evaluate("location.pathname"), figure_near(page)
    name = page.locator(".entry-row").first.get_attribute("data-name")
    keep = """([url, name, title, figure]) => reckoner.keep({id: reckoner.newId(), url, page: url, title, fields:
      [['damp', 'dry'], ['stage', 'cut'], [name, figure], [name + '-uuid', reckoner.newId()]]})"""
    page.evaluate(keep, [url, name, "bad", "wide"])
    page.evaluate(keep, [url, name, "good", good])

    for _ in range(3):
        scripts_run(page)
        page.evaluate("reckoner.flush()")

    (title, tries, needs), = waiting(page)
    assert (title, tries) == ("bad", 3)
    assert needs
    assert typed(sample_log, good) == 1
    page.goto("/waiting/")
    line = page.locator("[data-waiting-list] li")
    expect(line).to_contain_text("wide")
    expect(line.locator(".err")).to_contain_text("Needs you: " + needs[:20])
    tobin.press(line.get_by_role("button", name="Throw it away"))
    tobin.press(line.get_by_role("button", name="Throw it away"))
    expect(page.get_by_text("Nothing waits.")).to_be_visible()


def test_what_is_asked_is_asked_on_the_page_and_waits_until_it_is_answered(tobin, sample_log, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    page.locator(".entry-row input[inputmode]").first.fill("9.99")

    done(tobin)

    expect(page.locator(".entry-row .err")).to_be_visible()
    assert [bool(needs) for _title, _tries, needs in waiting(page)] == [True]
    figure, = type_widths(page)
    done(tobin)
    expect(page).to_have_url(name_of("/builds/*/strakes/*/widths/saved/"))
    assert waiting(page) == []
    assert typed(sample_log, figure) == 1


def test_what_is_typed_comes_back_after_a_reload_and_a_closed_page(tobin, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    figures = type_widths(page, 3)
    names = page.locator("[name=at0-uuid], [name$='-uuid']").evaluate_all("all => all.map(one => one.value)")

    page.reload()
    expect(page.locator("#message")).to_contain_text("What you typed here before is back.")
    fields = page.locator(".entry-row input[inputmode]")
    assert [fields.nth(n).input_value() for n in range(3)] == figures
    page.close()
    tobin.page = page = tobin.new_page()
    page.goto(laid_down.pages["widths"])

    expect(page.locator("#message")).to_contain_text("What you typed here before is back.")
    fields = page.locator(".entry-row input[inputmode]")
    assert [fields.nth(n).input_value() for n in range(3)] == figures
    assert page.locator("[name$='-uuid']").evaluate_all("all => all.map(one => one.value)") == names


def test_waiting_items_go_to_a_file_and_are_taken_back_once(tobin, sample_log, laid_down, tmp_path):
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    figure, = type_widths(page)
    page.route("**/here/", lambda route: route.abort())
    kept(tobin)
    page.goto("/waiting/")
    with page.expect_download() as download:
        tobin.press(tobin.button("Save waiting items to a file"))
    file = tmp_path / "waiting.json"
    download.value.save_as(file)
    scripts_run(page)
    page.evaluate("reckoner.all('waiting').then(all => Promise.all(all.map(one => reckoner.drop('waiting', one.n))))")
    page.reload()
    assert waiting(page) == []

    page.locator("#take-back").set_input_files(file)
    expect(page.locator("#message")).to_contain_text("1 item is taken back.")
    page.unroute("**/here/")
    # It may have gone by itself meanwhile; pressing is safe then too.
    page.evaluate("document.querySelector('[data-send-now]').click()")
    until(lambda: waiting(page) == [], "the item to be sent")
    assert typed(sample_log, figure) == 1
    # An address without its last slash is none of a form's: the log would do nothing and lead on.
    slashless = json.loads(file.read_text("utf-8"))
    slashless["items"][0]["url"] = slashless["items"][0]["url"].rstrip("/")
    for odd in ({}, slashless):
        page.reload()
        scripts_run(page)
        told = {"name": "x.json", "mimeType": "application/json", "buffer": json.dumps(odd).encode()}
        page.locator("#take-back").set_input_files(told)
        expect(page.locator("#message")).to_contain_text("holds no waiting items")
