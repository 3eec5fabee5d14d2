"""From nothing to the first answer: one question a page, on a phone and at a desk."""

import re
from fractions import Fraction

import pytest
from playwright.sync_api import expect

from tests.journeys.laid_down import PASSWORD
from tests.journeys.visitor import name_of

pytestmark = pytest.mark.journeys


def test_from_nothing_to_the_bench_with_a_double_planked_hull_on_seven_bulkheads(serve, visit, device):
    log = serve(sample=False)
    anna = visit(log, device)
    page = anna.page

    page.goto(first_owner_link(log))
    page.get_by_label("Name").fill("Anna")
    page.get_by_label("Password").fill(PASSWORD)
    anna.press(anna.button("Open my log"))
    expect(page).to_have_url(name_of("/builds/"))
    anna.press(anna.link("Start my own"))

    expect(page.locator("h1")).to_have_text("What are you building?")
    page.get_by_label("Name of the model").fill("Kittiwake")
    anna.press(anna.button("Go on"))
    asked(anna, 2, "At what scale?")
    page.get_by_label("Scale").fill("1:64")
    anna.press(anna.button("Go on"))
    asked(anna, 3, "What do you plank?")
    page.locator("input[name=sides][value=both]").check()
    page.get_by_label("double planked: the first layer, on bulkheads").check()
    anna.press(anna.button("Go on"))
    asked(anna, 4, "Where will you measure?")
    page.get_by_label("How many, if other").fill("7")
    assert page.get_by_label("bulkheads").is_checked()
    anna.press(anna.button("Go on"))
    asked(anna, 5, "What are they called?")
    names = page.locator("input[name^=name_]")
    expect(names).to_have_count(7)
    assert [names.nth(index).input_value() for index in range(7)] == list("1234567")
    anna.press(anna.button("Go on"))
    asked(anna, 6, "How far is the planking?")
    page.get_by_label("Strakes left to hang, port").fill("16")
    anna.press(anna.button("Go on"))
    gaps = {"port": [62, 71.4, 78, 80.2, 79.3, 74.1, 68.8], "starboard": [62.2, 71.3, 78, 80.1, 79.3, 74.3, 68.8]}
    for number, (side, figures) in enumerate(gaps.items(), start=7):
        asked(anna, number, f"{side.title()}: the gap mm")
        type_gaps(anna, [f"{figure:.2f}" for figure in figures])
        anna.press(anna.button("Done" if device == "phone" else "Show the widths"))

    expect(page.locator("h1")).to_have_text("Cut the next 16")
    tables = page.locator("table.answer")
    for table, figures in zip([tables.nth(0), tables.nth(1)], gaps.values(), strict=True):
        assert answer_in(table) == [divided(str(figure), 16) for figure in figures]

    fits(anna)
    anna.press(anna.button("Show it as a cut card"))
    expect(page).to_have_url(name_of("/builds/*/strakes/*/card/"))
    side = "port" if page.locator(".card-port").count() else "starboard"
    widths = [divided(str(figure), 16)[2] for figure in gaps[side]]
    places = [int(name) for name in page.locator(".card-at").all_inner_texts()]
    assert len(places) >= 5
    assert page.locator(".card-set").all_inner_texts() == [widths[place - 1] for place in places]
    expect(page.get_by_text("Outer face up")).to_be_visible()
    anna.press(anna.link("Close").locator("visible=true").first)
    expect(page).to_have_url(name_of("/builds/*/bench/"))
    expect(page.get_by_text("Next to hang")).to_be_visible()
    fits(anna)
    # The link has made its account; whoever finds it later opens nothing.
    late = visit(log, device)
    late.page.goto(first_owner_link(log))
    expect(late.page.locator("h1")).to_have_text("This link opens nothing")
    assert late.forgive("404") == 1


def test_a_half_planked_hull_has_its_next_widths_in_three_minutes_from_gaps_alone(sample_log, visit):
    """No plan, no girth, no scale, no history: only what hangs, what is left, and the gap at five places."""
    told = visit(sample_log, signed_in=True)
    hand = Hand(told)
    page = told.page
    gaps, left = ["31.50", "38.85", "41.02", "39.90", "28.44"], [6, 7, 7, 7, 5]

    page.goto("/builds/")
    hand.touch(told.link("Start my own"))
    hand.type(page.get_by_label("Name of the model"), "Half way")
    hand.touch(told.button("Go on"))
    asked(told, 2, "At what scale?")
    hand.touch(told.button("Go on"))
    asked(told, 3, "What do you plank?")
    hand.touch(told.button("Go on"))
    asked(told, 4, "Where will you measure?")
    hand.touch(told.button("Go on"))
    asked(told, 5, "What are they called?")
    hand.touch(told.button("Go on"))
    asked(told, 6, "How far is the planking?")
    hand.type(page.get_by_label("Hung from the keel, port"), "5")
    hand.type(page.get_by_label("Hung from the wale, port"), "6")
    hand.type(page.get_by_label("Strakes left to hang, port"), "7")
    hand.touch(page.get_by_text("Fewer at some places"))
    hand.type(page.get_by_label("Q", exact=True), "6")
    hand.type(page.get_by_label("16", exact=True), "5")
    hand.touch(told.button("Go on"))
    asked(told, 7, "Port: the gap")
    hand.measure()
    for index, gap in enumerate(gaps):
        hand.key(gap.replace(".", ""))
        expect(page.locator(f"input[name=gap_{index}]")).to_have_value(gap)
        if index < 4:
            hand.touch(page.locator(f"input[name=gap_{index + 1}]"))
    hand.touch(told.button("Done"))
    asked(told, 8, "Starboard: the gap")
    hand.touch(told.button("Measure this side later"))

    expect(page.locator("h1")).to_have_text("Cut the next seven")
    assert answer_in(page.locator("table.answer")) == [divided(gap, n) for gap, n in zip(gaps, left, strict=True)]
    hand.look()
    print(f"next widths of a half-planked hull: {hand.seconds:.0f} s")
    assert hand.seconds < 180
    told.press(told.button("Go to the bench"))
    expect(page.get_by_text("Next to hang")).to_be_visible()
    head = page.locator(".bench-head")
    expect(head).to_contain_text("Port")
    expect(head.locator(".lead")).to_contain_text(divided("41.02", 7)[2])


class Hand:
    """A person counted by the keystroke-level model of Card, Moran and Newell, 1980 (figures from memory): 1.35 s
    to think of each step and 1.1 s to point, with a thumb as slow as 0.5 s a key. What each new page asks and says
    is read at 250 words a minute (a usual pace, from memory), after one second for the page to come.
    """

    THINK, POINT, KEY, PAGE = 1.35, 1.1, 0.5, 1.0
    WORDS_A_SECOND = 250 / 60
    WORDS_TO_READ = """() => [...document.querySelectorAll('main :is(h1, .lead, legend, th, td, .field > label)')]
      .filter(one => one.checkVisibility()).map(one => one.cloneNode(true)).map(one => {
        one.querySelectorAll('.spoken').forEach(unseen => unseen.remove());
        return one.matches('.spoken') ? 0 : one.textContent.split(/\\s+/).filter(Boolean).length;
      }).reduce((all, some) => all + some, 0)"""
    # Five places by paper strip (common practice, no source).
    MEASURE = 20.0

    def __init__(self, visitor):
        self.visitor, self.seconds, self.seen = visitor, 0.0, ""

    def look(self) -> None:
        page = self.visitor.page
        if page.url != self.seen:
            self.seen = page.url
            self.seconds += self.PAGE + page.evaluate(self.WORDS_TO_READ) / self.WORDS_A_SECOND

    def touch(self, locator) -> None:
        self.look()
        self.seconds += self.THINK + self.POINT
        self.visitor.press(locator)

    def type(self, locator, text: str) -> None:
        self.touch(locator)
        self.seconds += len(text) * self.KEY
        locator.press_sequentially(text)

    def key(self, figures: str) -> None:
        self.look()
        self.seconds += self.THINK + len(figures) * self.KEY
        for figure in figures:
            self.visitor.press(self.visitor.page.locator(f"[data-key='{figure}']"))

    def measure(self) -> None:
        self.seconds += self.MEASURE


def first_owner_link(log) -> str:
    return re.search(r"  (http://\S+/once/\S+)", log.words())[1]


def asked(visitor, number: int, heading: str) -> None:
    """One question a page, which says its number; nobody is kept out of it and nothing is out of the window."""
    page = visitor.page
    expect(page.locator("h1")).to_contain_text(heading)
    expect(page.get_by_text(re.compile(rf"^Question {number} of 8$"))).to_be_visible()
    fits(visitor)


def fits(visitor) -> None:
    assert visitor.serious() == []
    assert visitor.page.evaluate("document.documentElement.scrollWidth") <= visitor.page.viewport_size["width"]


def type_gaps(visitor, figures: list[str]) -> None:
    """Each gap forward to aft: by the keys of the page under a thumb, by the keyboard at a desk."""
    for index, figure in enumerate(figures):
        field = visitor.page.locator(f"input[name=gap_{index}]")
        visitor.press(field)
        if visitor.device == "phone":
            # The point sets itself.
            for key in figure.replace(".", ""):
                visitor.page.locator(f"[data-key='{key}']").tap()
        else:
            field.press_sequentially(figure)
        expect(field).to_have_value(figure)


def divided(gap: str, left: int) -> tuple[str, str, str]:
    """The trade's equal division (common practice, no source): the gap over the strakes left, to the hundredth."""
    return two_places(Fraction(gap)), str(left), two_places(Fraction(gap) / left)


def two_places(mm: Fraction) -> str:
    hundredths = round(mm * 100)
    return f"{hundredths // 100}.{hundredths % 100:02d}"


def answer_in(table) -> list[tuple[str, str, str]]:
    rows = table.locator("tbody tr")
    cells = [rows.nth(index).locator("td").all_inner_texts() for index in range(rows.count())]
    return [tuple(row[:3]) for row in cells]
