"""Entry by one thumb, in a real browser: the point sets itself, a full figure moves on, an odd one stays."""

import pytest

pytestmark = pytest.mark.journeys

ROWS = [("Q", "2.98"), ("H", "4.15"), ("⊗", "4.41"), ("8", "10.02")]


def entry(rows=ROWS, places="2", more="", extra="") -> str:
    """The form as LOOK_PARTS of the page writers has it."""
    lines = "".join(
        f'<li class="entry-row" data-wanted="{wanted}">'
        f'<label class="entry-at" for="v{n}">{at}</label>'
        f'<input id="v{n}" name="v{n}" inputmode="decimal" autocomplete="off" placeholder="–">'
        f'<span class="entry-side"><span class="entry-word">wanted </span>{wanted}</span></li>'
        for n, (at, wanted) in enumerate(rows)
    )
    return (
        '{% extends "base.html" %}{% block bar %}{% endblock %}{% block body_class %}opened{% endblock %}'
        "{% block scripts %}"
        '<script src="{% static "js/keypad.js" %}" defer></script>{% endblock %}'
        '{% block content %}<form class="stack" method="get" action="/sent" data-keypad '
        f'data-places="{places}" data-within="0.03"{more}><h1>Port 9</h1><ol class="entry-rows">{lines}</ol>'
        f'{extra}<button class="button go entry-done">Done</button>'
        '{% include "parts/_keypad.html" %}</form>{% endblock %}'
    )


def tap(page, keys: str) -> None:
    for key in keys:
        page.locator(f"[data-key='{key}']").tap()


def typed(page) -> list[str]:
    return page.eval_on_selector_all(".entry-row input", "inputs => inputs.map(input => input.value)")


def current(page) -> str:
    return page.evaluate("document.activeElement.id")


def test_keypad_sets_the_point_and_moves_on(open_page):
    page = open_page(entry())

    tap(page, "297419441")

    assert typed(page) == ["2.97", "4.19", "4.41", ""]
    assert current(page) == "v3"
    assert page.problems == []


def test_keypad_says_how_far_a_finished_row_is_off(open_page):
    page = open_page(entry())

    tap(page, "297419")

    sides = page.eval_on_selector_all(".entry-side", "sides => sides.map(side => side.textContent.trim())")
    assert sides[:3] == ["within 0.01", "▲ wide 0.04", "wanted 4.41"]


def test_keypad_stays_at_a_figure_twice_the_plan(open_page):
    page = open_page(entry())

    tap(page, "900")

    assert typed(page)[0] == "9.00"
    assert current(page) == "v0"


@pytest.mark.parametrize(("keys", "value"), [("950", "9.50"), ("1002", "10.02"), ("1100", "11.00")])
def test_keypad_finds_the_point_where_the_figures_change_their_number(open_page, keys, value):
    page = open_page(entry([("8", "10.02"), ("16", "4.17")]))

    tap(page, keys)

    assert typed(page) == [value, ""]
    assert current(page) == "v1"


def test_keypad_for_decimal_inches(open_page):
    page = open_page(entry([("Q", "0.174"), ("H", "0.163")], places="3"))

    tap(page, "175")

    assert typed(page) == ["0.175", ""]
    assert current(page) == "v1"


def test_keypad_point_by_hand_is_left_where_it_was_put(open_page):
    page = open_page(entry())

    tap(page, "9")
    page.locator("[data-key='.']").tap()
    tap(page, "0")

    assert typed(page)[0] == "9.0"


def test_keypad_rubs_out_skips_and_reads_again(open_page):
    page = open_page(entry())

    tap(page, "29")
    page.locator("[data-key='rub-out']").tap()
    assert typed(page)[0] == "2"
    page.locator("[data-key='rub-out']").tap()
    page.locator("[data-key='skip']").tap()
    assert (typed(page)[0], current(page)) == ("", "v1")
    tap(page, "41")
    page.locator("[data-key='again']").tap()
    assert (typed(page)[1], current(page)) == ("", "v1")
    page.locator("[data-key='again']").tap()
    assert current(page) == "v0"


def test_keypad_goes_on_from_a_figure_that_nothing_is_known_of_and_keeps_it(open_page):
    page = open_page(entry([("Q", ""), ("H", ""), ("⊗", "")]))
    onward = page.locator("[data-key='skip']")

    assert onward.inner_text() == "Skip"
    tap(page, "44.9")
    assert onward.inner_text() == "Next"
    onward.tap()
    assert (current(page), onward.inner_text()) == ("v1", "Skip")
    tap(page, "5244")
    onward.tap()
    tap(page, "4")

    assert typed(page) == ["44.9", "52.44", "4"]
    # Nothing comes after the last station: there it is Done that ends.
    assert onward.inner_text() == "Skip"
    assert page.problems == []


def test_keypad_sets_the_point_from_the_end_where_nothing_is_wanted(open_page):
    page = open_page(entry([("Q", ""), ("H", "")]))

    tap(page, "1497")

    assert typed(page) == ["14.97", ""]
    assert current(page) == "v0"


def test_keypad_says_over_and_short_of_a_gap(open_page):
    page = open_page(entry([("D", "22.16"), ("H", "20.82")], more=' data-more="over" data-less="short"'))

    tap(page, "2176")

    side = page.locator(".entry-side").first
    assert side.inner_text() == "short 0.40"
    assert side.locator(".off-narrow").count() == 0


def test_keypad_again_takes_a_station_twice_where_both_are_kept(open_page):
    again = '<button class="no-script" name="again" value="v0" formaction="/again">Again at Q</button>'
    page = open_page(entry(extra=again), answers={"/again": (200, "taken")})
    page.evaluate(
        "document.querySelector('form').addEventListener('submit', event => {"
        " event.preventDefault(); window.pressed = event.submitter.value; })"
    )

    assert page.locator(".no-script").is_hidden()
    tap(page, "29")
    page.locator("[data-key='again']").tap()

    assert page.evaluate("window.pressed") == "v0"
    assert typed(page)[0] == "2.9"


def test_keypad_passes_over_a_row_that_is_saved(open_page):
    saved = '<li class="entry-row"><span class="entry-at">FH</span><span class="entry-kept">2.44</span></li>'
    page = open_page(entry().replace('<ol class="entry-rows">', f'<ol class="entry-rows">{saved}'))

    tap(page, "297")

    assert page.problems == []
    assert (typed(page)[0], current(page)) == ("2.97", "v1")


def test_keypad_that_waits_takes_no_focus(open_page):
    page = open_page(entry(more=" data-waits"))

    assert page.evaluate("document.activeElement.tagName") == "BODY"
    page.locator("#v0").focus()
    tap(page, "297")
    assert typed(page)[0] == "2.97"


def test_keypad_keeps_the_phones_own_keyboard_away(open_page):
    page = open_page(entry())

    assert page.eval_on_selector("#v0", "input => input.inputMode") == "none"
    assert page.locator(".entry-done").is_hidden()
    assert page.eval_on_selector(".keypad", "pad => Math.round(pad.getBoundingClientRect().bottom)") == 740


def test_keypad_tells_whoever_keeps_drafts(open_page):
    page = open_page(entry())
    page.evaluate(
        "() => { window.heard = 0; document.addEventListener('input', () => { window.heard += 1; }); }"
    )

    tap(page, "29")

    assert page.evaluate("window.heard") == 2


def test_keyboard_alone_enters_a_strake(open_page):
    page = open_page(entry(), phone=False)

    page.keyboard.type("297419441")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Enter")

    assert typed(page) == ["2.97", "4.19", "4.41", ""]
    assert current(page) == "v3"
    assert page.locator(".keypad").is_hidden()
    assert page.locator(".entry-done").is_visible()


def test_without_script_the_form_has_fields_and_a_button(open_page):
    page = open_page(entry(), java_script_enabled=False)

    assert page.locator(".keypad").is_hidden()
    assert page.locator(".entry-done").is_visible()
    assert page.get_attribute("#v0", "inputmode") == "decimal"
