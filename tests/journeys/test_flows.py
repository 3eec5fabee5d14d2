"""The flows of the bench in the hand: how many touches they take, on the phone that the budgets are told for.

A touch is allowed two seconds and a figure two thirds of one: eleven widths of three figures in 22 s.
"""

import pytest
from playwright.sync_api import expect

from tests.journeys.visitor import name_of, tab_to

pytestmark = pytest.mark.journeys

A_TOUCH_S, A_FIGURE_S, BUDGET_S = 2.0, 22 / 33, 30.0
# A phone of 360 px is 65 mm wide.
MM_IN_PX = 360 / 65


@pytest.fixture
def thumb(serve, visit):
    """One log each: what one thumb measures is not next for the other."""
    return Thumb(visit(serve(sample=True), "phone", signed_in=True))


class Thumb:
    """Somebody who counts each touch and each figure, on a slow phone and a slow line."""

    def __init__(self, one):
        self.one, self.page, self.touches, self.figures = one, one.page, 0, 0
        wire = one.context.new_cdp_session(one.page)
        wire.send("Network.enable")
        wire.send("Network.emulateNetworkConditions", {
            "offline": False, "latency": 150, "downloadThroughput": 200_000, "uploadThroughput": 200_000,
        })  # fmt: skip
        wire.send("Emulation.setCPUThrottlingRate", {"rate": 4})

    def touch(self, locator):
        self.touches += 1
        locator.tap()

    def key_in(self, figure: str):
        for key in figure.replace(".", ""):
            self.figures += 1
            self.page.locator(f"[data-key='{key}']").tap()

    @property
    def seconds(self) -> float:
        return self.touches * A_TOUCH_S + self.figures * A_FIGURE_S


@pytest.mark.parametrize(("every", "stations", "touches"), [(False, 5, 2), (True, 11, 3)], ids=["five", "eleven"])
def test_widths_of_a_strake_take_three_touches_and_their_figures(thumb, laid_down, every, stations, touches):
    page = thumb.page
    page.goto(laid_down.pages["bench"])
    strake = page.locator("h1").inner_text()
    thumb.touch(page.get_by_role("link", name="Record widths"))
    expect(page.locator(".entry-row")).to_have_count(5)
    if every:
        thumb.touch(thumb.one.button("All stations"))
        expect(page.locator(".entry-row")).to_have_count(stations)

    wanted = [row.get_attribute("data-wanted") for row in page.locator(".entry-row").all()]
    for figure in wanted:
        thumb.key_in(figure)
    typed = [field.input_value() for field in page.locator(".entry-row input:not([type=hidden])").all()]
    thumb.touch(page.locator(".keypad .done"))

    expect(page).to_have_url(name_of("/builds/*/strakes/*/widths/saved/"))
    assert typed == wanted
    assert page.locator("h1").inner_text() == strake
    expect(page.locator("main [role=status]").first).to_contain_text("Within plan.")
    assert (thumb.touches, thumb.figures) == (touches, 3 * stations)
    assert thumb.seconds < BUDGET_S
    # Whoever reads by ear stands at the answer, not at the top of the page again.
    assert page.evaluate("document.activeElement.matches('h1[data-focus]')")


def test_what_to_cut_next_is_one_touch_from_the_bench(thumb, laid_down):
    page = thumb.page
    page.goto(laid_down.pages["bench"])
    strake = page.locator("h1").inner_text()

    thumb.touch(page.get_by_role("link", name="Cut card"))

    expect(page.locator(".card-station")).to_have_count(5)
    assert page.locator("h1").inner_text().casefold() == strake.casefold()
    card = page.locator(".card").inner_text()
    assert "OUTER FACE UP" in card
    assert "BOW" in card
    assert len(page.locator(".card-words:visible").inner_text().split()) == 2
    assert "Revision 2" in card
    assert thumb.seconds < BUDGET_S


def test_card_shows_one_station_at_a_time_in_figures_12_mm_tall(thumb, laid_down):
    page = thumb.page
    page.goto(laid_down.pages["card-one"])
    figures = page.locator(".card-one .card-set")
    expect(figures).to_have_count(5)

    # The height of a figure itself: its font's cap height is what an eye reads, not the line's.
    tall = page.evaluate(
        "() => { const one = document.querySelector('.card-one .card-set'), look = getComputedStyle(one);"
        " const pen = document.createElement('canvas').getContext('2d');"
        " pen.font = `${look.fontWeight} ${look.fontSize} ${look.fontFamily}`;"
        " return pen.measureText('3').actualBoundingBoxAscent; }"
    )
    assert tall / MM_IN_PX >= 12
    assert page.evaluate("document.documentElement.scrollWidth") == 360
    assert figures.first.bounding_box()["x"] + figures.first.bounding_box()["width"] <= 360

    page.locator(".card-one").evaluate("list => list.scrollBy({left: 300})")
    page.wait_for_function("document.querySelector('.card-one').scrollLeft === 360")
    assert figures.nth(1).bounding_box()["x"] < 360


def test_card_keeps_the_screen_awake_and_asks_again_when_it_comes_back(sample_log, laid_down, visit):
    tobin = visit(sample_log, "phone", signed_in=True)
    page = tobin.page
    page.add_init_script(
        "window.asked = [];"
        "const request = what => { asked.push(what); return Promise.resolve(); };"
        "Object.defineProperty(navigator, 'wakeLock', {value: {request}});"
    )
    page.goto(laid_down.pages["card"])
    page.wait_for_function("asked.length === 1")

    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")

    assert page.evaluate("asked") == ["screen", "screen"]


def test_entry_by_the_keyboard_alone_has_no_trap_and_saves(sample_log, laid_down, visit):
    tobin = visit(sample_log, "desk", signed_in=True)
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    rows = page.locator(".entry-row")
    first = rows.first.locator("input:not([type=hidden])")
    expect(first).to_be_focused()

    for row in rows.all():
        page.keyboard.type(row.get_attribute("data-wanted"))
        page.keyboard.press("Enter") if row.get_attribute("data-name") == rows.last.get_attribute("data-name") else None

    expect(page).to_have_url(name_of("/builds/*/strakes/*/widths/saved/"))
    page.goto(laid_down.pages["widths"])
    # Past every row, out of the form at its foot, round again to its head.
    tab_to(page, ".entry-done")
    tab_to(page, "a.skip")


VOICE = """
window.SpeechRecognition = class { start() { window.ear = this; } stop() { this.onend(); } };
window.say = text => ear.onresult({resultIndex: 0, results: [Object.assign([{transcript: text}], {isFinal: true})]});
"""


def test_figures_are_said_and_read_back_before_anything_is_kept(sample_log, laid_down, visit):
    tobin = visit(sample_log, "phone", signed_in=True)
    page = tobin.page
    page.add_init_script(VOICE)
    page.goto(laid_down.pages["widths"])
    wanted = [row.get_attribute("data-wanted") for row in page.locator(".entry-row").all()]

    tobin.press(tobin.button("Say the figures"))
    expect(page.get_by_text("may send what it hears to its maker")).to_be_visible()
    tobin.press(tobin.button("Listen"))
    fields = page.locator(".entry-row input:not([type=hidden])")
    page.evaluate("say('three oh four')")
    page.evaluate("say('four point two three')")
    page.evaluate("say('450')")
    page.evaluate("say('four thirty')")
    page.evaluate("say('a quiet shed')")

    assert [field.input_value() for field in fields.all()] == ["3.04", "4.23", "4.50", "4.30", ""]
    assert wanted[:4] == ["3.04", "4.23", "4.50", "4.30"]
    expect(page.locator("[data-voice-says]")).to_have_text("Not a figure: a quiet shed")
    assert page.url.endswith("/widths/")


def test_without_a_browser_that_listens_there_is_no_word_of_it(sample_log, laid_down, visit):
    tobin = visit(sample_log, "phone", signed_in=True)
    tobin.page.add_init_script("delete window.SpeechRecognition; delete window.webkitSpeechRecognition;")
    tobin.page.goto(laid_down.pages["widths"])

    expect(tobin.page.locator("[data-voice]")).to_be_hidden()


def test_two_phones_at_one_figure_both_see_both(sample_log, laid_down, visit):
    phones = [visit(sample_log, "phone", signed_in=True) for _ in range(2)]
    phones[0].page.goto(laid_down.pages["widths"])
    field = phones[0].page.locator(".entry-row input[inputmode]").first
    name = field.get_attribute("name")
    uuid = phones[0].page.locator(f"[name={name}-uuid]").input_value()
    phones[1].page.goto(laid_down.pages["widths"])
    phones[1].page.locator(f"[name={name}-uuid]").evaluate("(one, uuid) => { one.value = uuid; }", uuid)
    for phone, figure in zip(phones, ["3.04", "3.06"], strict=True):
        phone.page.locator(f"[name={name}]").fill(figure)
        phone.press(phone.page.locator(".keypad .done"))
        if phone is phones[0]:
            expect(phone.page).to_have_url(name_of("/builds/*/strakes/*/widths/saved/"))

    both = phones[1].page.locator(".both-figures")
    expect(both).to_contain_text("3.04")
    expect(both).to_contain_text("3.06")
    phones[1].forgive("409")
