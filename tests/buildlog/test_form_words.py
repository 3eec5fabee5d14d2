"""What a form says of a wrong field is our own sentence, which names the field; the browser's words name none."""

import html
import re
from pathlib import Path

import pytest
from django.urls import reverse

from tests.buildlog.url_rows import BUILD_PAGES, LOOSE_ARGUMENTS, OWN_PAGES, arguments_of

TEMPLATES = Path(__file__).resolve().parents[2] / "templates"
FORM = re.compile(r"<form\b(?P<tag>[^>]*(?:%}[^>]*)*)>(?P<inside>.*?)(?=</form>|<form\b|\Z)", re.DOTALL)
# What is typed or chosen: not a button, and not what stands hidden in a form of buttons.
TYPED = re.compile(r"<(?:textarea|select)\b|<input\b(?![^>]*type=\"hidden\")")
# What Django says where a field brings no sentence of its own.
NAMELESS = (
    "This field is required.", "Select a valid choice.", "Enter a valid", "Enter a whole number.", "Enter a number.",
    "Ensure this value",
)  # fmt: skip
WRITERS = {name: page for name, page in {**BUILD_PAGES, **OWN_PAGES}.items() if page.writes}


def address(name, hull):
    of_a_build = name in BUILD_PAGES
    return reverse(name, args=arguments_of(name, hull) if of_a_build else LOOSE_ARGUMENTS.get(name, []))


def forms_of(page):
    return [(form["tag"], form["inside"]) for form in FORM.finditer(page)]


def is_typed_into(inside) -> bool:
    """Fields stand in a template as they are, by a form's name, or in what it includes."""
    return bool(TYPED.search(inside) or re.search(r"{{ \w*form\w*\.|{% include |{% block ", inside))


def test_every_form_of_the_templates_that_is_typed_into_is_checked_by_us_alone():
    lacking = [
        f"{path.relative_to(TEMPLATES)}: <form{tag}>"
        for path in sorted(TEMPLATES.rglob("*.html"))
        for tag, inside in forms_of(path.read_text("utf-8"))
        if is_typed_into(inside) and "novalidate" not in tag
    ]

    assert lacking == []


@pytest.mark.parametrize("name", sorted(n for n, page in {**BUILD_PAGES, **OWN_PAGES}.items() if page.reads))
def test_no_form_with_a_required_field_leaves_its_words_to_the_browser(name, hull, owner, client_of):
    page = client_of(owner).get(address(name, hull), follow=True).content.decode(errors="replace")

    required = [tag for tag, inside in forms_of(page) if re.search(r"<[^>]+\srequired[\s>]", inside)]

    assert [tag for tag in required if "novalidate" not in tag] == []


@pytest.mark.parametrize("name", sorted(WRITERS))
@pytest.mark.parametrize("typed", ["", "?"])
def test_what_is_wrong_with_a_field_is_said_by_its_name(name, typed, hull, owner, client_of):
    browser, url = client_of(owner), address(name, hull)
    fields = re.findall(r'<(?:input|textarea|select)\b[^>]*?\bname="([^"]+)"', browser.get(url).content.decode())

    page = html.unescape(browser.post(url, dict.fromkeys(fields, typed), follow=True).content.decode(errors="replace"))

    assert [words for words in NAMELESS if words in page] == []
