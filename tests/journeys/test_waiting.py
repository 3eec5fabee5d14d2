"""Nothing typed at the bench is lost without a signal: written down first, sent later, once each, in its own name."""

import json
import re
import shutil
import sqlite3
import time
from contextlib import closing

import pytest
from PIL import Image
from playwright.sync_api import expect

from tests.browser import FLAGS, chromium_path, launch
from tests.buildlog.photos.kit import saved
from tests.journeys.laid_down import BUILDER, PASSWORD
from tests.journeys.visitor import SIZES, name_of

pytestmark = pytest.mark.journeys
NO_SIGNAL = "ERR_INTERNET_DISCONNECTED|ERR_CONNECTION_REFUSED|ERR_FAILED|Failed to load resource"
ITEMS = "reckoner.all('waiting').then(all => all.map(one => [one.title, one.tries, one.needs]))"


@pytest.fixture(scope="module")
def log(serve):
    return serve(sample=True)


@pytest.fixture
def tobin(log, visit):
    """The builder with a phone; what a lost signal writes to the console is what the journey is about."""
    phone = visit(log, signed_in=True)
    yield phone
    phone.context.set_offline(False)
    phone.forgive(NO_SIGNAL)


def scripts_run(page) -> None:
    """Wait until a page that was just opened has run its own scripts."""
    page.wait_for_function("() => window.reckoner && reckoner.flush && reckoner.keep")


def rows(log, query, *values):
    with closing(sqlite3.connect(log.data / "reckoner.sqlite3")) as database:
        return database.execute(query, values).fetchall()


def typed(log, figure) -> int:
    return rows(log, "SELECT COUNT(*) FROM buildlog_reading WHERE typed = ?", figure)[0][0]


def waiting(page) -> list:
    return page.evaluate(ITEMS)


def until(holds, what, seconds=15):
    end = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < end, f"waited in vain for {what}"
        time.sleep(0.05)


FIGURES = iter(range(1, 90))


def figure_near(page, number=0) -> str:
    """Return a figure near what is wanted that no other journey types, so that it can be counted in the log."""
    wanted = float(page.locator(".entry-row").nth(number).get_attribute("data-wanted"))
    return f"{wanted + 0.0001 * next(FIGURES):.4f}"


def type_widths(page, number=1) -> list[str]:
    figures = [figure_near(page, row) for row in range(number)]
    for row, figure in enumerate(figures):
        page.locator(".entry-row input[inputmode]").nth(row).fill(figure)
    return figures


def done(visitor) -> None:
    visitor.press(visitor.page.locator(".entry-done:visible, .keypad .done:visible").first)


def kept(visitor) -> None:
    done(visitor)
    expect(visitor.page.locator("[data-kept-here]")).to_contain_text("Kept on this phone")


def send(page) -> None:
    scripts_run(page)
    page.evaluate("reckoner.flush()")


def test_with_a_signal_done_is_saved_and_nothing_waits(tobin, log, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    figures = type_widths(page, 5)

    done(tobin)

    expect(page).to_have_url(name_of("/builds/*/strakes/*/widths/saved/"))
    assert [typed(log, figure) for figure in figures] == [1] * 5
    assert waiting(page) == []
    expect(page.locator("#waiting")).to_be_hidden()


def test_without_a_signal_done_answers_at_once_and_all_is_sent_once_when_it_is_back(tobin, log, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    figures = type_widths(page, 5)
    tobin.context.set_offline(True)

    kept(tobin)

    expect(page.locator("#waiting")).to_contain_text("1 item waits on this phone.")
    assert [typed(log, figure) for figure in figures] == [0] * 5
    tobin.context.set_offline(False)
    until(lambda: waiting(page) == [], "the item to be sent")
    assert [typed(log, figure) for figure in figures] == [1] * 5


def test_flight_mode_reload_widths_and_photographs_from_the_offline_page(tobin, log, laid_down):
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
    before = rows(log, "SELECT COUNT(*) FROM buildlog_photo")[0][0]

    tobin.context.set_offline(False)
    page.goto("/waiting/")

    until(lambda: waiting(page) == [], "all four to be sent")
    send(page)
    assert rows(log, "SELECT COUNT(*) FROM buildlog_photo")[0][0] == before + 2
    assert typed(log, figure) == 1
    assert rows(log, "SELECT COUNT(*) FROM buildlog_session WHERE note LIKE '%Written in flight mode.%'") == [(1,)]


def answer_once(page, what) -> list:
    """Let the next post be answered otherwise; return the list of posts met."""
    met = []

    def handle(route):
        if route.request.method != "POST" or met:
            return route.fallback()
        met.append(route.request.url)
        return what(route)

    page.route("**/widths/", handle)
    return met


def test_a_reply_lost_after_the_log_kept_it_makes_no_second_row(tobin, log, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    figure, = type_widths(page)

    def lose(route):
        route.fetch()
        route.abort()

    answer_once(page, lose)
    kept(tobin)
    assert typed(log, figure) == 1
    send(page)

    until(lambda: waiting(page) == [], "the second answer")
    assert typed(log, figure) == 1


@pytest.mark.parametrize("status", [500, 503, 403, 413, 302])
def test_an_answer_that_is_not_the_logs_keeps_the_item(tobin, log, laid_down, status):
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    figure, = type_widths(page)
    headers = {"Location": "/sign-in/"} if status == 302 else {}
    answer_once(page, lambda route: route.fulfill(status=status, body="<h1>no</h1>", headers=headers))

    kept(tobin)
    assert [(tries, needs) for _title, tries, needs in waiting(page)] == [(0, "")]
    send(page)

    until(lambda: waiting(page) == [], "the item to be sent after all")
    assert typed(log, figure) == 1


def test_a_captive_portal_that_answers_200_to_everything_takes_nothing(tobin, log, laid_down):
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
    assert typed(log, figure) == 0

    send(page)

    until(lambda: waiting(page) == [], "the item to be sent")
    assert typed(log, figure) == 1


def test_a_portal_that_answers_in_json_takes_nothing_either(tobin, log, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    figure, = type_widths(page)
    answer_once(page, lambda route: route.fulfill(status=200, content_type="application/json", body='{"ok": true}'))

    kept(tobin)

    assert len(waiting(page)) == 1
    send(page)
    until(lambda: waiting(page) == [], "the item to be sent")
    assert typed(log, figure) == 1


def test_a_lapsed_sign_in_loses_nothing_and_sends_after_signing_in(tobin, log, laid_down):
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
    until(lambda: typed(log, figure) == 1, "the figure to be sent")
    until(lambda: waiting(page) == [], "the list to be empty")


def test_a_token_that_is_gone_is_made_anew(tobin, log, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    figure, = type_widths(page)
    tobin.context.clear_cookies(name="csrf")

    done(tobin)

    expect(page).to_have_url(name_of("/builds/*/strakes/*/widths/saved/"))
    assert typed(log, figure) == 1


def test_another_persons_items_stay_closed_and_are_not_sent(tobin, log, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    figure, = type_widths(page)
    page.route("**/here/", lambda route: route.fulfill(
        status=200, content_type="application/json", body=json.dumps({"account": "somebody-else", "token": "x" * 64})
    ))  # fmt: skip

    kept(tobin)
    send(page)
    assert len(waiting(page)) == 1
    assert typed(log, figure) == 0
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
    assert typed(log, figure) == 0


def test_two_tabs_at_once_send_ten_items_once_each(tobin, log, laid_down):
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
    assert [typed(log, figure) for figure in figures] == [1] * 10


def test_refused_three_times_needs_you_and_holds_up_nothing(tobin, log, laid_down):
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
    assert typed(log, good) == 1
    page.goto("/waiting/")
    line = page.locator("[data-waiting-list] li")
    expect(line).to_contain_text("wide")
    expect(line.locator(".err")).to_contain_text("Needs you: " + needs[:20])
    tobin.press(line.get_by_role("button", name="Throw it away"))
    tobin.press(line.get_by_role("button", name="Throw it away"))
    expect(page.get_by_text("Nothing waits.")).to_be_visible()


def test_what_is_asked_is_asked_on_the_page_and_waits_until_it_is_answered(tobin, log, laid_down):
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
    assert typed(log, figure) == 1


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


def test_waiting_items_go_to_a_file_and_are_taken_back_once(tobin, log, laid_down, tmp_path):
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
    assert typed(log, figure) == 1
    page.locator("#take-back").set_input_files({"name": "x.json", "mimeType": "application/json", "buffer": b"{}"})
    expect(page.locator("#message")).to_contain_text("holds no waiting items")


def test_a_full_phone_says_so_and_the_words_are_still_kept(tobin, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["photo-note"])
    scripts_run(page)
    page.evaluate("""() => { const put = reckoner.keep; reckoner.keep = item => item.photo
      ? Promise.reject(new DOMException('no room', 'QuotaExceededError')) : put(item); }""")
    picture = saved(Image.new("RGB", (64, 64), "teal"), "JPEG")
    page.locator("[name=photos]").set_input_files([{"name": "a.jpg", "mimeType": "image/jpeg", "buffer": picture}])
    page.locator("[name=note]").fill("A note on a full phone.")

    tobin.press(tobin.button("Keep it"))

    expect(page.locator(".err")).to_contain_text("no room left to keep this photograph")
    assert page.locator("[name=photos]").evaluate("input => input.files.length") == 1
    assert page.locator("[name=note]").input_value() == "A note on a full phone."


def test_a_full_log_keeps_photographs_waiting_and_lets_words_through(tobin, log, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["photo-note"])

    def full(route):
        if b"photos" in (route.request.post_data_buffer or b""):
            return route.fulfill(status=507, content_type="application/json", body='{"message": "full"}')
        return route.fallback()

    page.route("**/photo-note/", full)
    picture = saved(Image.new("RGB", (64, 64), "olive"), "JPEG")
    page.locator("[name=photos]").set_input_files([{"name": "full.jpg", "mimeType": "image/jpeg", "buffer": picture}])
    page.locator("[name=note]").fill("Words while the disk is full.")

    tobin.press(tobin.button("Keep it"))

    expect(page).to_have_url(name_of("/builds/*/bench/"))
    assert rows(log, "SELECT COUNT(*) FROM buildlog_session WHERE note LIKE '%Words while the disk%'") == [(1,)]
    assert [title for title, _tries, _needs in waiting(page)] == ["Photo + note: full.jpg"]
    page.unroute("**/photo-note/")
    send(page)
    until(lambda: waiting(page) == [], "the photograph, once there is room")


def test_signing_out_wipes_the_work_packet(log, visit, laid_down):
    tobin = visit(log, signed_in=True)
    page = tobin.page
    page.goto(laid_down.pages["bench"])
    page.wait_for_selector("html[data-packet=kept]", state="attached")
    page.evaluate("window.name = 'x'")
    page.goto("/account/")
    page.route("**/sign-out/", lambda route: route.fulfill(status=200, content_type="text/html", body="out"))

    tobin.press(tobin.button("Sign out on this device"))

    expect(page.locator("body")).to_have_text("out")
    page.unroute("**/sign-out/")
    page.goto("/offline/")
    expect(page.get_by_text("This phone has no work with it.")).to_be_visible()


@pytest.fixture
def own_browser(playwright, tmp_path):
    """Return a function that starts a browser with a profile of its own, to be killed as a phone's battery does."""
    started = []

    def start(*flags):
        context = playwright.chromium.launch_persistent_context(
            tmp_path / "profile", executable_path=chromium_path() or None, args=[*FLAGS, *flags],
            viewport=SIZES["phone"],
        )  # fmt: skip
        started.append(context)
        return context

    yield start
    for context in started:
        try:
            context.close()
        except Exception:
            continue
    shutil.rmtree(tmp_path / "profile", ignore_errors=True)


def kill(context, folder) -> None:
    """End every process of this profile at once, told by its own folder in the command line."""
    import os
    import signal
    from pathlib import Path

    mark = str(folder / "profile").encode()
    for entry in Path("/proc").iterdir():
        try:
            if entry.name.isdigit() and mark in (entry / "cmdline").read_bytes():
                os.kill(int(entry.name), signal.SIGKILL)
        except OSError:
            continue


def seated(context, log, laid_down):
    context.add_cookies([laid_down.cookie | {"url": f"http://127.0.0.1:{log.port}"}])
    return context.new_page()


@pytest.mark.parametrize("hung", [False, True], ids=["offline", "while the post hung"])
def test_a_killed_browser_loses_nothing(own_browser, log, laid_down, tmp_path, hung):
    home = f"http://127.0.0.1:{log.port}"
    context = own_browser()
    page = seated(context, log, laid_down)
    page.goto(home + laid_down.pages["widths"])
    figure, = type_widths(page)
    if hung:
        asked = []
        page.route("**/widths/", lambda route: asked.append(1) if route.request.method == "POST" else route.fallback())
        page.locator(".entry-done:visible, .keypad .done:visible").first.click()
        page.wait_for_timeout(50)
        until(lambda: page.evaluate("1") and asked, "the post to hang")
    else:
        context.set_offline(True)
        page.locator(".entry-done:visible, .keypad .done:visible").first.click()
        expect(page.locator("[data-kept-here]")).to_be_visible()
    kill(context, tmp_path)

    page = seated(own_browser(), log, laid_down)
    page.goto(home + laid_down.pages["log"])

    until(lambda: page.evaluate("1") and typed(log, figure) == 1, "the figure to be sent after the kill")
    until(lambda: waiting(page) == [], "the list to be empty")


def test_over_plain_http_it_waits_in_the_open_page_and_says_keep_it_open(serve, playwright, visit, laid_down):
    log = serve(sample=True, ALLOWED_HOSTS="bench.test")
    chromium = launch(playwright, "--host-resolver-rules=MAP bench.test 127.0.0.1")
    phone = visit(log, signed_in=True, in_browser=chromium, host="bench.test")
    page = phone.page
    page.goto(laid_down.pages["widths"])
    assert page.evaluate("[isSecureContext, 'serviceWorker' in navigator, 'locks' in navigator]") == [False] * 3
    figure, = type_widths(page)
    phone.context.set_offline(True)

    kept(phone)

    expect(page.locator("#waiting")).to_contain_text("Keep this page open until they are sent.")
    phone.context.set_offline(False)
    until(lambda: waiting(page) == [], "the item to be sent")
    assert typed(log, figure) == 1
    phone.forgive(NO_SIGNAL)
    chromium.close()


def test_over_plain_http_the_next_strake_is_recorded_in_the_same_page(serve, playwright, visit, laid_down):
    log = serve(sample=True, ALLOWED_HOSTS="bench.test")
    chromium = launch(playwright, "--host-resolver-rules=MAP bench.test 127.0.0.1")
    phone = visit(log, signed_in=True, in_browser=chromium, host="bench.test")
    page = phone.page
    page.goto(laid_down.pages["bench"])
    page.wait_for_selector("html[data-packet=kept]", state="attached")
    page.goto(laid_down.pages["widths"])
    first, = type_widths(page)
    page.wait_for_selector("html[data-offline-entry=here]", state="attached")
    phone.context.set_offline(True)
    kept(phone)
    note = page.locator("[data-kept-here]").first
    expect(note).to_contain_text("Keep this page open")

    phone.press(note.locator("summary", has_text="widths").last)
    form = note.locator("form.entry")
    wanted = form.locator(".entry-row").first.get_attribute("data-wanted")
    for digit in wanted.replace(".", ""):
        phone.press(form.locator(f".keypad [data-key='{digit}']"))
    expect(form.locator("input[inputmode]").first).to_have_value(wanted)
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    phone.press(form.locator(".keypad .done"))

    until(lambda: len(waiting(page)) == 2, "the second item to be kept")
    before = rows(log, "SELECT COUNT(*) FROM buildlog_reading")[0][0]
    phone.context.set_offline(False)
    until(lambda: waiting(page) == [], "both items to be sent")
    assert rows(log, "SELECT COUNT(*) FROM buildlog_reading")[0][0] == before + 2
    assert typed(log, first) == 1
    phone.forgive(NO_SIGNAL)
    chromium.close()


def test_a_phone_with_no_room_says_so_and_loses_nothing(tobin, log, laid_down):
    """The browser's own room for this site is taken away; what is typed stays on the page and is sent as any form."""
    page = tobin.page
    session = tobin.context.new_cdp_session(page)
    # Before the first page, since Chromium remembers for half a minute how much room there was.
    session.send("Storage.overrideQuotaForOrigin", {"origin": tobin.address, "quotaSize": 1})
    page.goto(laid_down.pages["widths"])
    figure, = type_widths(page)
    full = page.evaluate(
        "reckoner.put('waiting', {owner: 'x', bytes: new ArrayBuffer(200000)}).then(() => '', one => one.name)"
    )
    assert full == "QuotaExceededError"

    done(tobin)

    expect(page).to_have_url(name_of("/builds/*/strakes/*/widths/saved/"))
    assert typed(log, figure) == 1
    session.send("Storage.overrideQuotaForOrigin", {"origin": tobin.address})


def test_a_second_take_comes_back_with_its_row(tobin, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    first, = type_widths(page)
    name = page.locator(".entry-row").first.get_attribute("data-name")
    page.locator(f'button[name=again][value="{name}"]').evaluate("one => one.click()")
    take = page.locator(f'[name="{name}b"]')
    take.fill(figure := figure_near(page))
    scripts_run(page)
    page.evaluate("reckoner.all('drafts')")

    page.goto(laid_down.pages["widths"])

    expect(take).to_have_value(figure)
    expect(page.locator(f'[name="{name}"]')).to_have_value(first)


def test_what_widths_sent_late_came_to_is_said_on_the_next_page(tobin, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    type_widths(page)
    tobin.context.set_offline(True)
    kept(tobin)
    # As if it had waited for an hour.
    scripts_run(page)
    page.evaluate("""reckoner.all('waiting').then(([one]) =>
      reckoner.put('waiting', Object.assign(one, {madeAt: one.madeAt - 3600000})))""")
    tobin.context.set_offline(False)
    until(lambda: waiting(page) == [], "the item to be sent")

    page.goto(laid_down.pages["log"])

    expect(page.locator("#message")).to_contain_text(re.compile("Port .* arrived: "))


def test_what_waits_is_counted_on_every_page(tobin, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    item = "{id: reckoner.newId(), owner: 'x', url: '/builds/x/', page: '/', title: 't', fields: []}"
    scripts_run(page)
    page.evaluate(f"reckoner.keep({item})")
    names = [name for name in laid_down.pages if not name.startswith("public-")]
    for name in names[:: max(1, len(names) // 6)]:
        page.goto(laid_down.pages[name])
        expect(page.locator("#waiting")).to_contain_text(re.compile("1 item waits on this phone"))


def test_the_two_pages_keep_nobody_out(tobin, laid_down):
    page = tobin.page
    page.goto(laid_down.pages["bench"])
    page.wait_for_selector("html[data-packet=kept]", state="attached")
    item = "{id: reckoner.newId(), url: '/builds/x/', page: '/', title: 'Port 9', fields: [], needs: 'Look at H.'}"
    scripts_run(page)
    page.evaluate(f"reckoner.keep({item})")
    for path in ("/waiting/", "/offline/"):
        page.goto(path)
        expect(page.locator("#waiting")).to_contain_text("1 item waits")
        for summary in page.locator("summary").all():
            summary.evaluate("one => one.click()")
        assert tobin.serious() == []
        assert page.evaluate("document.documentElement.scrollWidth") <= 360
