"""An evening at the bench: photographs, widths, a strake hung, the gap, the verdict, and its sum followed."""

import io
import re
from decimal import Decimal

import pytest
from PIL import Image, ImageDraw
from playwright.sync_api import expect

from tests.buildlog.photos.file_parts import SECRETS, full_metadata_jpeg, saved
from tests.journeys.visitor import name_of, tab_to

pytestmark = pytest.mark.journeys


def test_photographs_are_kept_many_at_once_upright_and_without_their_place(sample_log, laid_down, visit, device):
    tobin = visit(sample_log, device, signed_in=True)
    page = tobin.page
    page.goto(laid_down.pages["photo-note"])

    lying = full_metadata_jpeg(6, red_above_blue(device).rotate(90, expand=True))
    page.locator("[name=photos]").set_input_files([
        {"name": "lying.jpg", "mimeType": "image/jpeg", "buffer": lying},
        {"name": "plan of the hull.jpg", "mimeType": "image/jpeg", "buffer": b"%PDF-1.7 nothing to see"},
        {"name": "bow.png", "mimeType": "image/png", "buffer": saved(red_above_blue(device), "PNG")},
    ])  # fmt: skip
    page.locator("[name=caption]").fill(f"free edge, {device}")
    page.locator("[name=note]").fill(f"Edge set with a warm iron at the {device}.")
    tobin.press(tobin.button("Keep it"))
    refused = page.locator(".err")
    expect(refused).to_have_count(1)
    expect(refused).to_contain_text(re.compile(r"^plan of the hull\.jpg is not kept: inside it is a PDF"))
    assert page.locator("[name=note]").input_value() == f"Edge set with a warm iron at the {device}."
    assert tobin.forgive("422") == 1
    tobin.press(tobin.button("Keep it"))
    expect(page).to_have_url(name_of("/builds/*/bench/"))
    expect(page.locator("#message")).to_contain_text("2 photographs received.")

    page.goto(laid_down.pages["log"])
    session = page.locator("article.session").first
    # The one that lay was taken on an evening that is in the log, and stands there; the other tells no time of its own.
    shown = page.locator("article.session figure", has_text=f"free edge, {device}")
    expect(shown).to_have_count(2)
    expect(session.locator("figure", has_text=f"free edge, {device}")).to_have_count(1)
    tobin.wait_for(lambda: shown.locator("img").count() == 2, "photographs to be made ready")
    expect(session).to_contain_text(f"Edge set with a warm iron at the {device}.")
    for figure in shown.all():
        figure.locator("img").scroll_into_view_if_needed()
        assert figure.locator("img").evaluate("one => one.decode().then(() => one.naturalHeight > one.naturalWidth)")
        is_upright_and_clean(tobin.context.request.get(figure.locator("img").get_attribute("src")))
    pages = [figure.locator("a").first.get_attribute("href") for figure in shown.all()]
    for address in pages:
        page.goto(address)
        is_upright_and_clean(tobin.context.request.get(page.locator("main img").first.get_attribute("src")))


def is_upright_and_clean(answer) -> None:
    assert answer.headers["content-type"] == "image/jpeg"
    assert [secret for secret in SECRETS if secret in answer.body()] == []
    picture = Image.open(io.BytesIO(answer.body()))
    assert dict(picture.getexif()) == {}
    assert picture.height > picture.width
    assert is_red(picture.getpixel((picture.width // 2, picture.height // 8)))
    assert not is_red(picture.getpixel((picture.width // 2, picture.height * 7 // 8)))


def red_above_blue(device: str) -> Image.Image:
    """A picture that stands: a red upper half says which way it is shown. Each device took its own."""
    width = {"phone": 300, "desk": 320}[device]
    picture = Image.new("RGB", (width, 400), (20, 30, 200))
    ImageDraw.Draw(picture).rectangle((0, 0, width, 200), fill=(220, 20, 20))
    return picture


def is_red(point) -> bool:
    return point[0] > 180 and point[2] < 80


def test_widths_by_thumb_a_strake_hung_a_gap_check_and_the_sum_behind_the_verdict(sample_log, laid_down, visit):
    tobin = visit(sample_log, "phone", signed_in=True)
    page = tobin.page
    page.goto(laid_down.pages["bench"])
    tobin.press(page.get_by_role("link", name=re.compile("^Record widths")))

    expect(page.locator(".keypad")).to_be_visible()
    assert page.evaluate("document.activeElement.inputMode") == "none"
    typed = key_in(tobin, off=["0.02", "-0.03", "0.05", "0.01", "-0.02"])
    tobin.press(tobin.button("Done"))

    saved_widths(page, typed)
    tobin.press(page.get_by_role("button", name=re.compile("^Hang ")))
    expect(page).to_have_url(name_of("/builds/*/bench/"))
    page.goto(laid_down.pages["gaps"])
    typed = key_in(tobin, off=["-0.31", "-0.48", "-0.62", "-0.40", "-0.22"])
    tobin.press(tobin.button("Done"))
    verdict_and_its_sum(tobin, typed)


def test_widths_by_the_keyboard_alone(sample_log, laid_down, visit):
    tobin = visit(sample_log, "desk", signed_in=True)
    page = tobin.page
    page.goto(laid_down.pages["bench"])

    tab_to(page, "#widths .entry-row input")
    typed = type_in(page, "#widths", off=["-0.02", "0.03", "-0.05", "0.02", "0.01"])
    tab_to(page, "#widths .entry-done")
    page.keyboard.press("Enter")
    saved_widths(page, typed)
    page.evaluate("document.activeElement.blur()")
    tab_to(page, "main form[action$='/planks/hang/'] button")
    page.keyboard.press("Enter")
    expect(page).to_have_url(name_of("/builds/*/bench/"))

    tab_to(page, ".bench-choose:last-of-type > summary")
    page.keyboard.press("Enter")
    tab_to(page, ".bench-choose a[href*='/gaps/']")
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_contain_text("gap, mm")
    tab_to(page, "#gaps .entry-row input")
    typed = type_in(page, "#gaps", off=["-0.31", "-0.48", "-0.62", "-0.40", "-0.22"])
    # Enter in the last field is Done.
    page.keyboard.press("Enter")
    verdict_and_its_sum(tobin, typed)


def key_in(tobin, *, off: list[str]) -> dict[str, str]:
    """Type each figure by the keys of the page, and return it by its station; a plausible one moves on by itself."""
    rows = tobin.page.locator(".entry-row")
    figures = figures_of(rows, off)
    for index, figure in enumerate(figures.values()):
        field = rows.nth(index).locator("input:not([type=hidden])")
        expect(field).to_be_focused()
        for key in figure.replace(".", ""):
            tobin.page.locator(f"[data-key='{key}']").tap()
        expect(field).to_have_value(figure)
    return figures


def type_in(page, form: str, *, off: list[str]) -> dict[str, str]:
    rows = page.locator(f"{form} .entry-row")
    figures = figures_of(rows, off)
    for index, figure in enumerate(figures.values()):
        field = rows.nth(index).locator("input:not([type=hidden])")
        expect(field).to_be_focused()
        page.keyboard.type(figure.replace(".", ""))
        expect(field).to_have_value(figure)
    return figures


def figures_of(rows, off: list[str]) -> dict[str, str]:
    expect(rows).to_have_count(len(off))
    wanted = [rows.nth(index).get_attribute("data-wanted") for index in range(len(off))]
    places = rows.locator(".entry-at").all_inner_texts()
    return {at: str(Decimal(w) + Decimal(o)) for at, w, o in zip(places, wanted, off, strict=True)}


def saved_widths(page, typed) -> None:
    expect(page).to_have_url(name_of("/builds/*/strakes/*/widths/saved/"))
    rows = page.locator("table.answer tbody tr")
    expect(rows).to_have_count(len(typed))
    shown = dict(zip(rows.locator("th").all_inner_texts(), page.locator("td.measured").all_inner_texts(), strict=True))
    assert {at: figure.split("\n")[0] for at, figure in shown.items()} == typed


def verdict_and_its_sum(tobin, typed) -> None:
    page = tobin.page
    verdict = page.locator("[data-verdict]")
    expect(verdict).to_be_visible()
    word = verdict.locator(".verdict-word").inner_text()
    rows = page.locator("section#gaps table tbody tr")
    read = {row.locator("th").inner_text(): row.locator("td").first.inner_text() for row in rows.all()}
    assert {at: read[at] for at in typed} == typed
    tobin.press(tobin.link("The sum"))
    expect(page).to_have_url(name_of("/builds/*/openings/*/sums/"))
    expect(page.locator(".lead")).to_contain_text(word)

    stations = page.locator("main details.ruled[id^=at-]")
    assert stations.count() >= len(typed)
    # The worst station stands open; the others open by a tap.
    assert page.locator("main details.ruled[open]").count() == 1
    for station in stations.all():
        if station.get_attribute("open") is None:
            tobin.press(station.locator("summary").first)
        at = re.search(r"At (\S+)", station.locator("summary").first.inner_text())[1]
        lines = follow(station.locator("table.sum").first)
        if at in typed:
            assert lines["Short"]["less the gap read"] == -Decimal(typed[at])


def follow(table) -> dict[str, dict[str, Decimal]]:
    """Add a sum up from the page's own text; return its lines by heading. Every total must be what stands over it."""
    lines, group, added, totals = {}, "", Decimal(0), 0
    for row in table.locator("tr").all():
        words = row.locator("th").inner_text() if row.locator("th").count() else ""
        if row.get_attribute("class") == "sum-head":
            group, added = words, Decimal(0)
            lines[group] = {}
        elif words:
            figure = Decimal(row.locator("td").inner_text().replace("−", "-"))
            lines[group][words] = figure
            if row.get_attribute("class") == "girth":
                assert figure == added, f"{group}: {words} is {figure}, and what stands over it comes to {added}"
                added, totals = Decimal(0), totals + 1
            else:
                added += figure
    assert totals >= 3
    if "Why" in lines:
        assert list(lines["Why"].values())[-1] == list(lines["Short"].values())[-1]
    return lines
