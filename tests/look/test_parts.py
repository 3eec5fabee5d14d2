"""Every part in a real browser: no sideways scroll, nothing too small to hit, axe content, the focus seen."""

import pytest

pytestmark = pytest.mark.journeys

PAGE = """{% extends "base.html" %}{% load marks %}
{% block content %}
<div class="line"><h1>{% side "port" 9 %}, revision 3</h1><a class="stand" href="#">Close</a></div>
<div class="halves">
{% include "parts/_verdict.html" with verdict="carry_on" side="port" sentence="Cut the rest to plan." sum_url="#" %}
{% include "parts/_verdict.html" with verdict="spread_it" side="starboard" sentence="Each gives 0.09." sum_url="#" %}
{% include "parts/_verdict.html" with verdict="change_plan" sentence="Four strakes would do." sum_url="#" %}
{% include "parts/_verdict.html" with verdict="measure_gap" sentence="One reading at D would settle it." sum_url="#" %}
</div>
{% include "parts/_warning.html" with first="Printed card 9 is" stamp="old" line="It was cut to revision 2." %}
{% include "parts/_err.html" with first="9.00 is twice the plan." rest="Did you mean 4.76?" %}
{% include "parts/_empty.html" with title="No gap has been read yet" text="Lay a strip." url="#" label="Record a gap" %}
{% include "parts/_progress.html" with text="photograph 7 of 20" done=7 total=20 %}
<p>{% include "parts/_waiting.html" with count=2 text="items wait on this phone." %} {% off 60000 %} {% off -60000 %}</p>
<p>{% include "parts/_stamp.html" with stamp="not_checked" %} {% include "parts/_stamp.html" with stamp="old" %}</p>
<div class="para">Where the hull widens a {% term "stealer" %} is let in.</div>
<div class="buttons"><a class="button go" href="#">Record widths <span class="button-note">5 stations</span></a>
<button class="button">Cut card</button><button class="button ink">Done</button>
<button class="button" disabled>Waits for a gap reading</button><button class="button quiet">Go to the bench</button></div>
<form class="fields"><fieldset class="choice"><legend>Wood</legend>
<label><input type="radio" name="wood" checked>dry</label><label><input type="radio" name="wood">damp</label></fieldset>
<div class="field"><label for="name">Name of the build</label><p class="help">As you say it.</p><input id="name"></div>
<div class="field"><label for="note">Note</label><textarea id="note"></textarea></div>
<div class="field"><label for="which">Instrument</label><select id="which"><option>Caliper A</option></select></div>
<div class="field"><label class="check"><input type="checkbox"><span>Hung, not measured</span></label></div></form>
<div class="sheet"><div class="scroll" tabindex="0" role="region" aria-label="Widths"><table class="widths">
<thead><tr><th scope="col">strake</th>{% for n in "1234567890" %}<th scope="col">{{ n }}</th>{% endfor %}</tr></thead>
<tbody><tr class="next"><th scope="row">9</th>{% for n in "1234567890" %}<td>4.41{% off 60000 word=False %}</td>{% endfor %}</tr>
<tr class="girth"><th scope="row">Girth</th>{% for n in "1234567890" %}<td>84.67</td>{% endfor %}</tr></tbody></table></div></div>
<ul class="rules"><li><a href="#">Caliper A</a><span class="second">zero checked 3 days ago</span></li></ul>
<dl class="club-figures"><div><dt>33 <small>of 36</small></dt><dd>strakes hung, both sides together</dd></div></dl>
<details><summary>Another strake</summary><p>10</p></details>
{% endblock %}"""  # noqa: E501

SMALL = """() => [...document.querySelectorAll(':is(main, .head) :is(a, button, input, select, summary)')]
  .filter(one => one.offsetParent && !one.closest('p, .err, .para, label'))
  .map(one => [one.textContent.trim() || one.id, one.getBoundingClientRect()])
  .filter(([, box]) => box.width < 24 || box.height < 24).map(([name]) => name)"""


@pytest.mark.parametrize("width", [320, 360, 768, 820, 1280])
def test_parts_need_no_sideways_scroll(open_page, width):
    page = open_page(PAGE)
    page.set_viewport_size({"width": width, "height": 740})

    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_text_twice_as_large_needs_no_sideways_scroll(open_page):
    """200 % zoom on a desk of 1280 is a page of 640 (WCAG 2.2, 1.4.4 and 1.4.10)."""
    page = open_page(PAGE, phone=False)
    page.set_viewport_size({"width": 640, "height": 400})

    assert page.evaluate("document.documentElement.scrollWidth") <= 640


def test_what_stands_alone_can_be_hit(open_page):
    page = open_page(PAGE)

    assert page.evaluate(SMALL) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("phone", [True, False], ids=["phone", "desk"])
def test_axe_finds_nothing_in_the_parts(open_page, scheme, phone):
    from axe_playwright_python.sync_playwright import Axe

    page = open_page(PAGE, phone=phone, color_scheme=scheme)

    found = Axe().run(page).response["violations"]
    assert [(one["id"], one["impact"], one["nodes"][0]["html"]) for one in found] == []


def test_the_focus_is_seen_on_all_that_takes_it(open_page):
    page = open_page(PAGE, phone=False)
    unseen, visited = [], 0
    for _ in range(40):
        page.keyboard.press("Tab")
        name, width, style = page.evaluate(
            "() => { const one = document.activeElement; const seen = one.closest('.choice label') || one;"
            " const look = getComputedStyle(seen);"
            " return [one.tagName + ' ' + one.textContent.trim().slice(0, 20),"
            " parseFloat(look.outlineWidth), look.outlineStyle]; }"
        )
        if name.startswith("BODY"):
            break
        visited += 1
        if width < 3 or style == "none":
            unseen.append(name)

    assert unseen == []
    assert visited > 20


def test_a_button_stands_still_for_whoever_asks_for_less_motion(open_page):
    page = open_page(PAGE, reduced_motion="reduce")

    assert page.eval_on_selector(".button", "one => getComputedStyle(one).transitionDuration") == "0s"


def test_a_trade_word_opens_under_the_line_it_stands_in(open_page):
    page = open_page(PAGE)
    line = page.locator(".term-line")
    assert line.is_hidden()

    page.locator(".term > summary").tap()

    assert line.is_visible()
    word = page.locator(".term > summary").bounding_box()
    assert line.bounding_box()["y"] >= word["y"] + word["height"] - 6
    assert line.bounding_box()["width"] == pytest.approx(328, abs=1)


@pytest.mark.parametrize("chosen", ["light", "dark"])
def test_the_builders_choice_wins_over_the_phones(open_page, chosen):
    other = {"light": "dark", "dark": "light"}[chosen]
    page = open_page(PAGE, color_scheme=other)
    by_phone = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")

    page.evaluate(f"document.documentElement.dataset.theme = '{chosen}'")

    assert page.evaluate("getComputedStyle(document.documentElement).backgroundColor") != by_phone


def test_a_choice_of_theme_shows_at_once(open_page):
    page = open_page(
        '{% extends "base.html" %}{% block content %}<h1>Shed</h1><div data-theme-choice>'
        '<label><input type="radio" name="theme" value="dark">Dark</label></div>{% endblock %}'
    )

    page.get_by_label("Dark").check()

    assert page.evaluate("document.documentElement.dataset.theme") == "dark"
