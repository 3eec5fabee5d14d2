"""A cut card taken to paper: one A5 sheet lying across, whatever stands on it; a question clear of the keys."""

import re

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.journeys

# A5 across is 210 x 148 mm; a PDF counts 72 points to the inch of 25.4 mm (ISO 216, ISO 32000).
A5_ACROSS = (595, 420)


def sheets_of(pdf: bytes) -> list[tuple[int, int]]:
    """Return the size of every sheet of a PDF in points."""
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", pdf)
    return [(round(float(width)), round(float(height))) for width, height in boxes]


@pytest.mark.parametrize("stations", ["", "?stations=all"], ids=["five stations", "every station"])
def test_printed_card_is_one_sheet_lying_across(sample_log, laid_down, visit, stations):
    tobin = visit(sample_log, "desk", signed_in=True)
    page = tobin.page
    page.goto(laid_down.pages["card"] + stations)

    tobin.press(page.locator(".card-doings button"))
    expect(page.locator(".card-qr svg")).to_be_visible()

    sheets = sheets_of(page.pdf(prefer_css_page_size=True))
    assert sheets == [A5_ACROSS]


def test_question_about_a_figure_stands_clear_of_the_keys(sample_log, laid_down, visit):
    tobin = visit(sample_log, "phone", signed_in=True)
    page = tobin.page
    page.goto(laid_down.pages["widths"])
    assert page.evaluate("scrollY") == 0

    page.locator(".entry-row input:not([type=hidden])").nth(3).fill("9.00")
    tobin.press(page.locator(".keypad .done"))
    asked = page.locator(".entry-row .err")
    expect(asked).to_be_visible()

    keys, question = page.locator(".keypad").bounding_box(), asked.bounding_box()
    assert question["y"] + question["height"] <= keys["y"] + 1
    assert tobin.forgive("422") == 1
