"""A messy sheet goes in with a list of doubts, is taken in, and goes back with one undo; what goes out adds up."""

import csv
import io
from fractions import Fraction
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.journeys.visitor import name_of

pytestmark = pytest.mark.journeys

# Decimal commas, blanks, a formula, inches among mm, a strake there is not, a day there is not; port is in the name.
MESSY = (
    "Widths of March;;;;\n;;;;\nstrake;M mm;⊗ mm;read on\n"
    "9;3,85;4,52;3.3.2026\n8;3,84;;3.3.2026\n7;0,151;4,50;3.3.2026\n"
    "99;4,4;4,4;3.3.2026\n6;n/a;=4,4+0;3.3.2026\n5;3,84;4,50;never\n"
)


def test_messy_sheet_goes_in_with_its_doubts_and_comes_back_with_one_undo(sample_log, laid_down, visit, device):
    tobin = visit(sample_log, device, signed_in=True)
    page = tobin.page
    page.goto(laid_down.pages["shed"])
    tobin.press(tobin.link("Tables in and out"))
    page.locator("[name=file]").set_input_files(
        {"name": f"port {device}.csv", "mimeType": "text/csv", "buffer": MESSY.encode("cp1252", "replace")}
    )
    tobin.press(tobin.button("Look at it"))

    # The sign of dead flat is not in Windows-1252, so nobody knows that column: the builder says what it is.
    expect(page).to_have_url(name_of("/builds/*/tables/*/"))
    page.get_by_label("? mm").select_option(label="station ⊗")
    tobin.press(tobin.button("Look again"))
    expect(page.locator(".lead")).to_contain_text("4 readings would come in.")
    doubts = page.get_by_role("region", name="Doubts").locator("tbody tr")
    for said in ("no such strake in the plan", "a formula, not a figure", "no date", "0.151 in on the model"):
        expect(doubts.filter(has_text=said)).to_have_count(1)
    assert tobin.serious() == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")

    tobin.press(tobin.button("Take them in"))
    expect(page.locator(".lead")).to_contain_text("4 readings came in.")
    assert tobin.serious() == []
    tobin.press(tobin.button("Undo the whole table"))
    expect(page.locator("#message")).to_contain_text("The table is undone.")
    expect(page.locator(".lead")).to_contain_text("Undone")


def test_table_that_goes_out_adds_up_and_comes_in_as_nothing_new(sample_log, laid_down, visit):
    tobin = visit(sample_log, "desk", signed_in=True)
    page = tobin.page
    page.goto(laid_down.pages["tables"])
    with page.expect_download() as waited:
        tobin.link("Plan").last.click()
    body = Path(waited.value.path()).read_bytes()
    rows = list(csv.DictReader(io.StringIO(body.decode("utf-8-sig"), newline="")))
    port = [row for row in rows if row["opening"] == "port"]
    strakes = sum(Fraction(row["M mm"]) for row in port if row["line"] == "strake" and row["M mm"])
    seams, girth = (Fraction(row["M mm"]) for line in ("seams", "girth") for row in port if row["line"] == line)
    assert strakes + seams == girth

    page.locator("[name=file]").set_input_files({"name": "plan.csv", "mimeType": "text/csv", "buffer": body})
    tobin.button("Look at it").click()
    expect(page.locator(".lead")).to_contain_text("0 planned figures would change")
    expect(tobin.button("Nothing new to take in")).to_be_disabled()


def test_file_that_is_no_table_says_what_would_help(sample_log, laid_down, visit, device):
    tobin = visit(sample_log, device, signed_in=True)
    page = tobin.page
    page.goto(laid_down.pages["tables"])
    page.locator("[name=file]").set_input_files(
        {"name": "widths.xlsx", "mimeType": "application/vnd.ms-excel", "buffer": b"PK\x03\x04 and so on"}
    )
    tobin.press(tobin.button("Look at it"))

    expect(page.locator(".err")).to_contain_text("choose Save as, then CSV")
    assert tobin.serious() == []
