"""Photographs: one with a home in half a minute, twenty labelled in a minute, turned, cut and drawn on, in series."""

import io
import re
import time
from dataclasses import dataclass, field

import pytest
from PIL import Image, ImageDraw
from playwright.sync_api import expect

from tests.browser import launch
from tests.buildlog.photos.file_parts import exif_block, jpeg_segment, saved, with_segments
from tests.journeys.visitor import name_of

pytestmark = pytest.mark.journeys

# What a person's own part costs, in seconds: from memory, common practice, no source. A shot is of JOB's flow B.
TAP, KEY, SHOT = 1.5, 0.3, 5.0


@dataclass
class Count:
    """A person's taps and keys, and the time the site itself let them wait."""

    tobin: object
    taps: int = 0
    keys: int = 0
    shots: int = 0
    waited: float = 0.0
    began: float = field(default_factory=time.monotonic)

    def tap(self, locator):
        began = time.monotonic()
        self.tobin.press(locator)
        self.taps, self.waited = self.taps + 1, self.waited + time.monotonic() - began

    def type(self, locator, text):
        locator.fill(text)
        self.keys += len(text)

    def choose(self, locator, **option):
        """A list is opened by one tap and answered by another."""
        locator.select_option(**option)
        self.taps += 2

    @property
    def seconds(self) -> float:
        return self.taps * TAP + self.keys * KEY + self.shots * SHOT + self.waited


def shot(n: int, *, taken="19:00:00", camera="Bench Camera 3", size=(800, 600)) -> dict:
    """Red above, blue below, and a mark of its own, so that no two are the same picture."""
    image = Image.new("RGB", size, (20, 30, 200))
    draw = ImageDraw.Draw(image)
    draw.rectangle((0, 0, size[0], size[1] // 2), fill=(220, 20, 20))
    draw.rectangle((10 * n, 0, 10 * n + 8, 8), fill=(255, 255, 255))
    notes = b"Exif\0\0" + exif_block(1, taken=f"2026:03:14 {taken}", model=camera)
    content = with_segments(saved(image, "JPEG"), jpeg_segment(0xE1, notes))
    return {"name": f"IMG_{2040 + n}.JPG", "mimeType": "image/jpeg", "buffer": content}


def send(tobin, laid_down, shots) -> None:
    page = tobin.page
    page.goto(laid_down.pages["photo-note"])
    page.locator("[name=photos]").set_input_files(shots)
    tobin.press(tobin.button("Keep it"))
    expect(page).to_have_url(name_of("/builds/*/bench/"))


def all_ready(tobin, laid_down, shots) -> None:
    """Wait until the worker has made them ready; it takes one after another, so there is patience for every four."""
    tobin.page.goto(laid_down.pages["photos"] + "?show=tray")
    for one in [*shots[::4], shots[-1]]:
        image = tobin.page.locator(f'.tray img[alt="{one["name"]}"]')
        tobin.wait_for(lambda image=image: image.count() == 1, f"{one['name']} to be made ready")


def test_photograph_gets_its_home_within_half_a_minute(sample_log, laid_down, visit):
    tobin = visit(sample_log, "phone", signed_in=True)
    page, words = tobin.page, "clamped at M, glue thin"
    page.goto(laid_down.pages["bench"])
    count = Count(tobin)

    count.tap(page.get_by_role("link", name="Photo + note").first)
    expect(page.locator("[name=photos]")).to_be_attached()
    page.locator("[name=photos]").set_input_files([shot(1)])
    count.shots, count.taps = 1, count.taps + 1
    assert page.locator("[name=strake] option:checked").inner_text() == "Port 9"
    count.type(page.locator("[name=caption]"), words)
    began = time.monotonic()
    count.tap(tobin.button("Keep it"))
    expect(page.locator("#message")).to_contain_text("1 photograph received.")
    count.waited += time.monotonic() - began

    assert count.taps <= 4
    assert count.seconds < 30, count
    page.goto(laid_down.pages["log"])
    expect(page.locator("figure", has_text=words)).to_have_count(1)


def test_twenty_photographs_are_labelled_within_a_minute_and_it_is_undone(sample_log, laid_down, visit):
    tobin = visit(sample_log, "phone", signed_in=True)
    page = tobin.page
    shots = [shot(n, taken=f"19:{n:02d}:00") for n in range(10, 30)]
    send(tobin, laid_down, shots)
    all_ready(tobin, laid_down, shots)
    page.goto(laid_down.pages["log"])
    count = Count(tobin)

    count.tap(tobin.link("Photographs"))
    expect(page.locator(".tray input").nth(19)).to_be_visible()
    before = page.locator(".tray input").count()
    count.tap(tobin.link("Tick all here"))
    expect(page.locator("[data-ticked]")).to_have_text(f"{before} ticked")
    count.choose(page.locator("[name=strakes]"), label="Port 9")
    for station in ("M", "D"):
        count.tap(page.locator(".choice label", has_text=re.compile(f"^{station}$")))
    count.type(page.locator("[name=caption]"), "clamped")
    count.tap(tobin.button("Label them"))
    expect(page.locator("#message")).to_contain_text(f"{before} photographs labelled.")

    assert count.seconds < 60, count
    expect(page.get_by_text("Every photograph has its label")).to_be_visible()
    page.goto(laid_down.pages["photos"] + "?show=all")
    expect(page.locator('.tray img[alt="port strake 9, station M to D, clamped"]')).to_have_count(before)
    tobin.press(tobin.button("Undo"))
    expect(page.locator("#message")).to_contain_text("Taken back.")
    page.goto(laid_down.pages["photos"])
    expect(page.locator(".tray input")).to_have_count(before)
    assert tobin.serious() == []


def test_photograph_is_turned_cut_and_drawn_on_and_goes_back_to_the_original(sample_log, laid_down, visit):
    tobin = visit(sample_log, "desk", signed_in=True)
    page = tobin.page
    shots = [shot(40, taken="20:00:00")]
    send(tobin, laid_down, shots)
    all_ready(tobin, laid_down, shots)
    page.locator(".tray li", has=page.locator('img[alt="IMG_2080.JPG"]')).locator("a").click()
    picture = page.locator("#picture .photo-frame img")
    address = page.url
    assert shape(picture) == (800, 600)

    page.get_by_role("button", name="Turn right").click()
    # The page asks again by itself until the picture is made anew.
    expect(page.locator("#picture img[width='600']")).to_be_visible()
    expect(picture).to_have_attribute("height", "800")

    page.get_by_role("link", name="Cut").click()
    drag(page, page.locator("[data-crop-frame] img"), (0.0, 0.0), (0.5, 0.5))
    assert float(page.locator("[name=right]").input_value()) == pytest.approx(50, abs=1)
    tobin.press(tobin.button("Cut it"))
    expect(page).to_have_url(address)
    expect(page.locator("#picture img[width='300']")).to_be_visible()

    page.get_by_role("link", name="Arrows and numbers").click()
    page.locator(".choice label", has_text="arrow").click()
    page.locator("[name=text]").fill("free edge")
    drag(page, page.locator("[data-draw-frame] img"), (0.3, 0.3), (0.7, 0.6))
    expect(page.locator(".mark-row")).to_have_count(1)
    page.locator("[name=text]").fill("butt")
    page.locator("[data-draw-frame] img").click(position={"x": 100, "y": 100})
    expect(page.locator(".mark-row")).to_have_count(2)
    page.goto(address)
    expect(page.locator("#picture .legend li")).to_have_text(["1 free edge", "2 butt"])
    expect(page.locator("#picture .p-disc:visible")).to_have_count(1)
    assert tobin.serious() == []

    tobin.press(tobin.button("Back to the original"))
    expect(page.locator("#picture img[width='800']")).to_be_visible()
    expect(page.locator("#picture .legend li")).to_have_count(2)


def shape(picture) -> tuple[int, int]:
    return int(picture.get_attribute("width")), int(picture.get_attribute("height"))


def drag(page, locator, start, end) -> None:
    locator.scroll_into_view_if_needed()
    box = locator.bounding_box()
    points = [(box["x"] + x * box["width"], box["y"] + y * box["height"]) for x, y in (start, end)]
    page.mouse.move(*points[0])
    page.mouse.down()
    page.mouse.move(*points[1], steps=5)
    page.mouse.up()


def test_slate_sorts_what_was_taken_after_it(sample_log, laid_down, visit):
    tobin = visit(sample_log, "phone", signed_in=True)
    page = tobin.page
    shots = [shot(n, taken=f"21:{n - 40:02d}:00", camera="Slate Camera") for n in range(50, 60)]
    send(tobin, laid_down, shots)
    all_ready(tobin, laid_down, shots)

    page.locator(".tray li", has=page.locator('img[alt="IMG_2090.JPG"]')).locator("a").tap()
    tobin.press(tobin.link("This is a slate"))
    expect(page.locator(".tray input:checked")).to_have_count(9)
    page.locator("[name=session]").select_option(index=2)
    page.locator("[name=strake]").select_option(label="Starboard 9")
    tobin.press(tobin.button("Sort those that are ticked"))
    expect(page.locator("#message")).to_contain_text("10 photographs sorted.")
    expect(page.locator(".tray li", has_text="Starboard 9")).to_have_count(10)
    assert tobin.serious() == []

    tobin.press(tobin.button("Undo"))
    expect(page.locator(".tray li", has_text="Starboard 9")).to_have_count(0)


def send_into_series(tobin, button) -> None:
    """Send and wait for the next page: the one before it may have said the same words."""
    with tobin.page.expect_navigation():
        tobin.press(button)
    expect(tobin.page.get_by_text("Received; it stands in the series")).to_be_visible()


def test_series_is_stepped_through_by_arrow_keys_and_taken_under_a_ghost(playwright, sample_log, laid_down, visit):
    browser = launch(playwright, "--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream")
    tobin = visit(sample_log, "desk", signed_in=True, in_browser=browser)
    page = tobin.page
    page.goto(laid_down.pages["series"])
    page.get_by_role("link", name="New series").click()
    page.locator("[name=name]").fill("From the bow")
    tobin.press(tobin.button("Keep it"))
    for n in (60, 61):
        page.locator("[name=photos]").set_input_files([shot(n, taken=f"22:{n - 60:02d}:00")])
        send_into_series(tobin, page.locator("[data-send]"))
    tobin.wait_for(lambda: page.locator("[data-last]").count() == 1, "the last one to be made ready")

    tobin.press(tobin.button("Open the camera here, with the last one over it"))
    expect(page.locator("[data-camera] video")).to_be_visible()
    assert page.locator("[data-camera] img").evaluate("one => getComputedStyle(one).opacity") == "0.5"
    assert page.locator("[data-camera] video").evaluate("one => one.videoWidth") > 0
    send_into_series(tobin, tobin.button("Take it"))

    tobin.press(tobin.link("Close"))
    tobin.wait_for(lambda: page.get_by_text("3 of 3").count() == 1, "three to be made ready")
    page.keyboard.press("ArrowLeft")
    expect(page.get_by_text("2 of 3")).to_be_visible()
    page.keyboard.press("ArrowLeft")
    expect(page.get_by_text("1 of 3")).to_be_visible()
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("ArrowRight")
    expect(page.get_by_text("2 of 3")).to_be_visible()
    assert tobin.serious() == []
    tobin.close()
    browser.close()


def test_camera_that_may_not_be_opened_leaves_the_last_one_beside(sample_log, laid_down, visit):
    tobin = visit(sample_log, "phone", signed_in=True)
    page = tobin.page
    page.add_init_script("navigator.mediaDevices.getUserMedia = () => Promise.reject(new Error('no'))")
    page.goto(laid_down.pages["series"])
    page.get_by_role("link", name="New series").tap()
    page.locator("[name=name]").fill("Port quarter")
    tobin.press(tobin.button("Keep it"))

    tobin.press(tobin.button("Open the camera here, with the last one over it"))

    expect(page.locator("[data-no-camera]")).to_be_visible()
    expect(page.locator("[name=photos]")).to_be_visible()


def test_labels_and_marks_need_no_script(sample_log, laid_down, visit):
    tobin = visit(sample_log, "phone", signed_in=True, java_script_enabled=False)
    page = tobin.page
    page.goto(laid_down.pages["photo-note"])
    shots = [shot(70, taken="23:00:00")]
    page.locator("[name=photos]").set_input_files(shots)
    tobin.press(tobin.button("Keep it"))
    expect(page).to_have_url(name_of("/builds/*/bench/"))
    all_ready(tobin, laid_down, shots)

    tobin.press(tobin.link("Tick all here"))
    page.locator("[name=caption]").fill("without a script")
    tobin.press(tobin.button("Label them"))
    expect(page.locator("#message")).to_contain_text("labelled.")
    page.goto(laid_down.pages["photos"] + "?show=all")
    page.locator(".tray li", has_text="without a script").first.locator("a").tap()
    tobin.press(tobin.link("Arrows and numbers"))
    page.locator("[name=text]").fill("garboard")
    page.locator("input[type=image]").tap()
    expect(page.locator(".mark-row")).to_have_count(1)
    tobin.press(tobin.link("Close"))
    expect(page.locator("#picture .legend")).to_contain_text("1 garboard")


def test_upright_picture_of_the_published_file_after_a_turn(sample_log, laid_down, visit):
    """What is served is the turned picture itself, not the old one shown turned."""
    tobin = visit(sample_log, "desk", signed_in=True)
    page = tobin.page
    shots = [shot(80, taken="23:30:00")]
    send(tobin, laid_down, shots)
    all_ready(tobin, laid_down, shots)
    page.locator(".tray li", has=page.locator('img[alt="IMG_2120.JPG"]')).locator("a").click()
    page.get_by_role("button", name="Turn right").click()
    expect(page.locator("#picture img[width='600']")).to_be_visible()

    made = tobin.context.request.get(page.locator("#picture img").get_attribute("src"))
    picture = Image.open(io.BytesIO(made.body()))
    assert picture.size == (600, 800)
    right, left = picture.getpixel((550, 400)), picture.getpixel((50, 400))
    assert right[0] > 180 > right[2]
    assert left[2] > 150 > left[0]


def test_photograph_of_a_series_waits_on_the_phone_where_there_is_no_signal(sample_log, laid_down, visit):
    tobin = visit(sample_log, "phone", signed_in=True)
    page = tobin.page
    page.goto(laid_down.pages["series"])
    page.get_by_role("link", name="New series").tap()
    page.locator("[name=name]").fill("Without a signal")
    tobin.press(tobin.button("Keep it"))
    page.wait_for_function("window.reckoner && reckoner.tryNow")
    where = page.url

    tobin.context.set_offline(True)
    page.locator("[name=photos]").set_input_files([shot(80, taken="22:30:00")])
    tobin.press(page.locator("[data-send]"))
    expect(page.locator("[data-kept-here]")).to_contain_text("Without a signal")
    tobin.context.set_offline(False)
    tobin.forgive(r"ERR_INTERNET_DISCONNECTED|Failed to fetch|Failed to load")

    page.goto(where)
    tobin.wait_for(lambda: page.locator("[data-last]").count() == 1, "the one that waited to be made ready")


def test_bad_file_among_good_ones_says_what_is_kept_and_that_the_note_is_not(sample_log, laid_down, visit):
    tobin = visit(sample_log, "phone", signed_in=True)
    page = tobin.page
    page.goto(laid_down.pages["photo-note"])
    bad = {"name": "bad.jpg", "mimeType": "image/jpeg", "buffer": b"no picture at all"}
    page.locator("[name=photos]").set_input_files([shot(61), shot(62), bad])
    page.locator("[name=note]").fill("Two of three, and these words.")

    tobin.press(tobin.button("Keep it"))

    told = page.get_by_text("2 photographs are kept. The note is not saved yet: Keep it again.")
    expect(told).to_be_focused()
    expect(page.locator(".err")).to_contain_text("bad.jpg")
    tobin.press(tobin.button("Keep it"))
    expect(page).to_have_url(name_of("/builds/*/bench/"))
    expect(page.locator("#message")).to_contain_text("The note is kept.")
    assert tobin.forgive("422") == 1


@pytest.mark.parametrize("is_named", [False, True], ids=["its label is refused", "it is refused itself"])
def test_photograph_leaves_the_phone_only_where_it_is_refused_itself(sample_log, laid_down, visit, is_named):
    tobin = visit(sample_log, "phone", signed_in=True)
    page = tobin.page
    page.goto(laid_down.pages["photo-note"])

    def refuse(route):
        if route.request.method != "POST":
            return route.fallback()
        told = {"client_uuid": route.request.headers["x-waiting-item"], "sentence": "That strake is gone."}
        named = {"refused": [{"name": "IMG_2111.JPG", "sentence": "is no picture."}]} if is_named else {}
        return route.fulfill(status=422 if is_named else 404, json=told | named)

    page.route("**/photo-note/", refuse)
    page.locator("[name=photos]").set_input_files([shot(71)])
    tobin.press(tobin.button("Keep it"))

    line = page.locator(".err")
    expect(line).to_contain_text("is no picture." if is_named else "That strake is gone.")
    left = page.evaluate("reckoner.all('waiting').then(all => all.map(one => [one.needs, one.photo.bytes.byteLength]))")
    assert left == ([] if is_named else [["That strake is gone.", len(shot(71)["buffer"])]])
    if not is_named:
        expect(line).to_contain_text("It is kept on this phone")
        page.evaluate("reckoner.all('waiting').then(([one]) => reckoner.drop('waiting', one.n))")
    assert tobin.forgive("422|404") == 1
