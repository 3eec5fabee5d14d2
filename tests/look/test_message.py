"""One message area and one listener: what a failed request says, and what is swapped."""

import pytest

pytestmark = pytest.mark.journeys

PAGE = (
    '{% extends "base.html" %}{% block content %}<h1>Bench</h1><div id="place">as it was</div>'
    '<form hx-post="/save" hx-target="#place"><input name="note" value="typed"><button>Save</button></form>'
    "{% endblock %}"
)


def save(open_page, status: int, body: str = ""):
    page = open_page(PAGE, phone=False, answers={"/save": (status, body)})
    page.get_by_role("button", name="Save").click()
    page.wait_for_timeout(150)
    return page


@pytest.mark.parametrize(
    ("status", "start"),
    [
        (403, "You can read this build, but not write in it."),
        (404, "What this belongs to is no longer there."),
        (413, "This is larger than the log takes in one go."),
        (429, "Too many tries in a short time."),
        (500, "The log could not do this, and nothing was changed."),
        (507, "The disk of the log is full."),
    ],
)
def test_a_refused_request_is_told_in_the_one_place(open_page, status, start):
    page = save(open_page, status, "<p>Traceback</p>")

    assert page.inner_text("#message").startswith(start)
    assert page.inner_text("#place") == "as it was"
    assert page.input_value("[name=note]") == "typed"


def test_what_the_server_says_itself_comes_first(open_page):
    told = "The text was saved; the photograph was not."
    page = save(open_page, 507, f'<section class="problem"><h1>Full</h1><p>{told}</p></section>')

    assert page.inner_text("#message") == told


def test_a_lost_connection_keeps_what_was_typed(open_page):
    page = save(open_page, 0)

    assert page.inner_text("#message").startswith("This did not reach the log")
    assert page.input_value("[name=note]") == "typed"


def test_a_conflict_is_swapped_in(open_page):
    page = save(open_page, 409, "<p>4.41 and 4.43</p>")

    assert page.inner_text("#place") == "4.41 and 4.43"
    assert page.inner_text("#message") == ""


def test_htmx_breaks_no_rule_of_the_policy(open_page):
    page = open_page(PAGE, phone=False, answers={"/save": (200, "<p>saved</p>")})
    page.evaluate(
        "() => { window.broken = []; document.addEventListener('securitypolicyviolation',"
        " event => window.broken.push(event.violatedDirective)); }"
    )

    page.get_by_role("button", name="Save").click()
    page.wait_for_timeout(150)

    assert page.inner_text("#place") == "saved"
    assert page.evaluate("window.broken") == []
    assert page.problems == []
