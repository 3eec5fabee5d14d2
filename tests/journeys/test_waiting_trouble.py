"""What is typed at the bench outlives a full phone, a killed browser, plain http and a session that ended."""

import re
import shutil

import pytest
from PIL import Image
from playwright.sync_api import expect

from tests.browser import FLAGS, chromium_path, launch
from tests.buildlog.photos.file_parts import saved
from tests.journeys.flight_mode import (
    NO_SIGNAL,
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
from tests.journeys.visitor import SIZES, name_of

pytestmark = pytest.mark.journeys


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


def test_a_full_log_keeps_photographs_waiting_and_lets_words_through(tobin, sample_log, laid_down):
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
    assert rows(sample_log, "SELECT COUNT(*) FROM buildlog_session WHERE note LIKE '%Words while the disk%'") == [(1,)]
    assert [title for title, _tries, _needs in waiting(page)] == ["Photo + note: full.jpg"]
    page.unroute("**/photo-note/")
    send(page)
    until(lambda: waiting(page) == [], "the photograph, once there is room")


def test_signing_out_wipes_the_work_packet(sample_log, visit, laid_down):
    tobin = visit(sample_log, signed_in=True)
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


def seated(context, sample_log, laid_down):
    context.add_cookies([laid_down.cookie | {"url": f"http://127.0.0.1:{sample_log.port}"}])
    return context.new_page()


@pytest.mark.parametrize("hung", [False, True], ids=["offline", "while the post hung"])
def test_a_killed_browser_loses_nothing(own_browser, sample_log, laid_down, tmp_path, hung):
    home = f"http://127.0.0.1:{sample_log.port}"
    context = own_browser()
    page = seated(context, sample_log, laid_down)
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

    page = seated(own_browser(), sample_log, laid_down)
    page.goto(home + laid_down.pages["log"])

    until(lambda: page.evaluate("1") and typed(sample_log, figure) == 1, "the figure to be sent after the kill")
    until(lambda: waiting(page) == [], "the list to be empty")


def test_over_plain_http_it_waits_in_the_open_page_and_says_keep_it_open(serve, playwright, visit, laid_down):
    sample_log = serve(sample=True, ALLOWED_HOSTS="bench.test")
    chromium = launch(playwright, "--host-resolver-rules=MAP bench.test 127.0.0.1")
    phone = visit(sample_log, signed_in=True, in_browser=chromium, host="bench.test")
    page = phone.page
    page.goto(laid_down.pages["widths"])
    assert page.evaluate("[isSecureContext, 'serviceWorker' in navigator, 'locks' in navigator]") == [False] * 3
    figure, = type_widths(page)
    phone.context.set_offline(True)

    kept(phone)

    expect(page.locator("#waiting")).to_contain_text("Keep this page open until they are sent.")
    phone.context.set_offline(False)
    until(lambda: waiting(page) == [], "the item to be sent")
    assert typed(sample_log, figure) == 1
    phone.forgive(NO_SIGNAL)
    chromium.close()


def test_over_plain_http_the_next_strake_is_recorded_in_the_same_page(serve, playwright, visit, laid_down):
    sample_log = serve(sample=True, ALLOWED_HOSTS="bench.test")
    chromium = launch(playwright, "--host-resolver-rules=MAP bench.test 127.0.0.1")
    phone = visit(sample_log, signed_in=True, in_browser=chromium, host="bench.test")
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
    before = rows(sample_log, "SELECT COUNT(*) FROM buildlog_reading")[0][0]
    phone.context.set_offline(False)
    until(lambda: waiting(page) == [], "both items to be sent")
    assert rows(sample_log, "SELECT COUNT(*) FROM buildlog_reading")[0][0] == before + 2
    assert typed(sample_log, first) == 1
    phone.forgive(NO_SIGNAL)
    chromium.close()


def test_a_phone_with_no_room_says_so_and_loses_nothing(tobin, sample_log, laid_down):
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
    assert typed(sample_log, figure) == 1
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
