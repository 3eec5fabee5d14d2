"""The club: a link made, opened by a stranger, saved as one file, ended; the file opens with the server off."""

import re

import pytest
from PIL import Image
from playwright.sync_api import expect

from tests.buildlog.photos.file_parts import saved
from tests.journeys.laid_down import BUILDER
from tests.journeys.visitor import name_of

pytestmark = pytest.mark.journeys


def test_a_stranger_sees_what_was_shared_saves_it_and_is_shut_out_at_once(serve, laid_down, visit, tmp_path):
    log = serve(sample=True)
    owner = visit(log, signed_in=True)
    stranger = visit(log, accept_downloads=True)
    for caption, colour in (("for the club", "teal"), ("kept back", "maroon")):
        photograph(owner, laid_down.pages["photo-note"], caption, colour)
    owner.page.goto(laid_down.pages["log"])
    shown = owner.page.locator("article.session").first.locator("figure img")
    owner.wait_for(lambda: shown.count() == 2, "photographs to be made ready")
    private = tick(owner, laid_down.pages["shares"], "for the club")
    assert private

    address = make_link(owner, laid_down.pages["link-new"])
    answer = stranger.page.goto(address)
    seen = answer.text()
    expect(stranger.page.get_by_alt_text("for the club").first).to_be_visible()
    assert "An evening for the club to see." in seen
    for word in (*private, "kept back", BUILDER, laid_down.build + "/", "/builds/", "csrfmiddlewaretoken", "<form"):
        assert word not in seen, f"a stranger reads {word!r}"
    photo = stranger.page.get_by_alt_text("for the club").first.get_attribute("src")
    with stranger.page.expect_download() as coming:
        stranger.press(stranger.link("Save page as one file"))
    kept = tmp_path / coming.value.suggested_filename
    coming.value.save_as(kept)
    assert kept.stat().st_size < 10_000_000

    doors = [address, photo, f"{address}page.html", f"{address}feed.atom"]
    assert answers(stranger, doors) == [200] * 4
    link_page = owner.page.url
    owner.press(owner.button("Pause"))
    expect(owner.page.locator(".lead")).to_have_text("paused")
    assert answers(stranger, doors) == [404] * 4
    owner.press(owner.button("Open again"))
    expect(owner.page.locator(".lead")).to_contain_text("opens")
    assert answers(stranger, doors) == [200] * 4
    owner.press(owner.button("New address the old one dies"))
    expect(owner.page.locator("a.address")).not_to_have_text(address)
    renewed = owner.page.locator("a.address").inner_text()
    assert answers(stranger, doors) == [404] * 4
    doors = [door.replace(token_in(address), token_in(renewed)) for door in doors]
    assert answers(stranger, doors) == [200] * 4
    owner.press(owner.button("Revoke for good"))
    expect(owner.page.locator(".lead")).to_have_text("revoked")
    assert answers(stranger, doors) == [404] * 4
    assert owner.page.url == link_page
    # In the browser that has the pages and photographs in its own memory, too.
    assert stranger.page.goto(renewed).status == 404
    assert stranger.forgive("404") == 1

    log.stop()
    opens_by_itself(visit(log), kept)


def photograph(owner, address: str, caption: str, colour: str) -> None:
    page = owner.page
    page.goto(address)
    picture = saved(Image.new("RGB", (640, 480), colour), "JPEG")
    page.locator("[name=photos]").set_input_files(
        [{"name": f"{colour}.jpg", "mimeType": "image/jpeg", "buffer": picture}]
    )
    page.locator("[name=caption]").fill(caption)
    page.locator("[name=note]").fill("An evening for the club to see." if colour == "teal" else "")
    owner.press(owner.button("Keep it"))
    expect(page).to_have_url(name_of("/builds/*/bench/"))


def tick(owner, address: str, caption: str) -> list[str]:
    """Share the newest session and one photograph of it; return what the sessions left out say of themselves."""
    page = owner.page
    page.goto(address)
    share = page.locator("fieldset.share").first
    share.locator("input[name=shared]").first.check()
    share.get_by_label(caption, exact=True).check()
    owner.press(owner.button("Share what is ticked"))
    expect(page.locator("#message")).to_contain_text("2 things changed for the club.")
    private = []
    for session in page.locator("fieldset.share").all():
        if not session.locator("input[name=shared]").first.is_checked():
            note = session.locator("label").first.locator("span").inner_text()
            private.append(re.sub(r"^\w+ \d+ \w+ \d+\s*", "", note)[:60].strip("… "))
    return [note for note in private if len(note) > 10]


def make_link(owner, address: str) -> str:
    page = owner.page
    page.goto(address)
    page.get_by_label("Name").fill("The club")
    owner.press(owner.button("Make it"))
    expect(page.locator("h1")).to_have_text("The club")
    return page.locator("a.address").inner_text()


def token_in(address: str) -> str:
    return address.rstrip("/").rsplit("/", 1)[-1]


def answers(stranger, doors: list[str]) -> list[int]:
    return [stranger.context.request.get(door).status for door in doors]


def opens_by_itself(reader, file) -> None:
    """The server is off and the network is cut; the file shows its pictures and asks for nothing."""
    asked = []
    reader.context.set_offline(True)
    reader.page.on("request", lambda request: asked.append(request.url))
    reader.page.goto(file.as_uri())
    expect(reader.page.get_by_text("it cannot be called back")).to_be_visible()
    assert "An evening for the club to see." in reader.page.content()
    pictures = reader.page.locator("img").all()
    assert pictures
    for picture in pictures:
        assert picture.evaluate("one => one.decode().then(() => one.naturalWidth)") > 0
    assert reader.page.locator("main svg").count() > 0
    assert reader.page.evaluate("[...document.fonts].some(font => font.status === 'loaded')")
    assert reader.page.evaluate("document.documentElement.scrollWidth") <= 360
    assert reader.page.locator("script").count() == 0
    assert [url for url in asked if not url.startswith(("data:", file.as_uri()))] == []
