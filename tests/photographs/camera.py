"""The camera: a server with the sample, a browser, and contact sheets."""

import threading
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import django
from PIL import Image, ImageDraw

django.setup()

from django.conf import settings  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.test import Client  # noqa: E402

from buildlog.models import Account, Build  # noqa: E402
from tests.browser import chromium_path, launch  # noqa: E402
from tests.photographs.pages import pages_of  # noqa: E402

SIZES = {"phone": (360, 740), "desk": (1280, 900)}
# Chromium's own emulation of a screen without colour: what is said by hue alone is gone.
LIGHTS = {"light": ("light", "none"), "dark": ("dark", "none"), "grey": ("light", "achromatopsia")}
TALLEST = 6000
THUMB = {"phone": (230, 900), "desk": (520, 900)}
ON_A_SHEET = {"phone": 8, "desk": 6}
README = {
    "hull-desk": ("hull", "desk", 1180), "bench-phone": ("bench", "phone", 740), "card-phone": ("card", "phone", 740),
    "widths-phone": ("widths", "phone", 740),
}  # fmt: skip


def photograph(out: Path, *, only: str, readme: bool) -> None:
    """Photograph the pages into ``out`` and lay out the sheets, one set for each size and light."""
    call_command("migrate", verbosity=0)
    account = Account.objects.create_account("Tobin", "a long bench password")
    call_command("load_sample", "Tobin")
    build = Build.objects.get()
    every = pages_of(build, datetime.now(UTC))
    pages = {name: path for name, path in every.items() if only in name}
    out.mkdir(parents=True, exist_ok=True)
    with _server() as address, _browser() as browser:
        for size in SIZES:
            for light in LIGHTS:
                taken = [_take(browser, address, account, out, name, path, size, light) for name, path in pages.items()]
                _lay_out(out, size, light, taken)
        if readme:
            _renew_readme(browser, address, account, every)
    print(f"The sheets are in {out}.")


@contextmanager
def _server():
    from django.core.wsgi import get_wsgi_application
    from waitress.server import create_server

    server = create_server(get_wsgi_application(), host="127.0.0.1", port=0, threads=4)
    threading.Thread(target=server.run, daemon=True).start()
    yield f"http://127.0.0.1:{server.effective_port}"
    server.close()


@contextmanager
def _browser():
    from playwright.sync_api import sync_playwright

    if not chromium_path():
        raise SystemExit("No Chromium was found; set CHROMIUM to one.")
    with sync_playwright() as playwright:
        browser = launch(playwright)
        yield browser
        browser.close()


def _page(browser, address, account, name, size, light):
    scheme, sight = LIGHTS[light]
    width, height = SIZES[size]
    context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme)
    if not name.startswith("public-"):
        signed_in = Client()
        signed_in.force_login(account)
        cookie = signed_in.cookies[settings.SESSION_COOKIE_NAME].value
        context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": address}])
    page = context.new_page()
    if sight != "none":
        context.new_cdp_session(page).send("Emulation.setEmulatedVisionDeficiency", {"type": sight})
    return page


def _take(browser, address, account, out, name, path, size, light):
    page = _page(browser, address, account, name, size, light)
    page.goto(address + path)
    page.evaluate("document.fonts.ready")
    # The bar at the thumb sticks to the window's foot: the window is made as tall as the page.
    height = min(max(page.evaluate("document.documentElement.scrollHeight"), SIZES[size][1]), TALLEST)
    page.set_viewport_size({"width": SIZES[size][0], "height": height})
    # Asked for by hand, since waiting by a condition needs an eval that the pages' policy blocks.
    page.evaluate(
        "Promise.all([...document.images].map((one) => { one.loading = 'eager'; return one.decode().catch(() => 0) }))"
    )
    file = out / f"{name}-{size}-{light}.png"
    page.screenshot(path=str(file))
    wide = page.evaluate("document.documentElement.scrollWidth")
    if wide > SIZES[size][0]:
        print(f"{name}, {size}: scrolls sideways, {wide} px")
    page.context.close()
    return name, file


def _lay_out(out, size, light, taken):
    """Lay thumbnails side by side, so many on a sheet, each with its name."""
    width, height = THUMB[size]
    for start in range(0, len(taken), ON_A_SHEET[size]):
        some = taken[start : start + ON_A_SHEET[size]]
        sheet = Image.new("RGB", (len(some) * (width + 12) + 12, height + 40), "white")
        for index, (name, file) in enumerate(some):
            with Image.open(file) as picture:
                scale = width / picture.width
                small = picture.convert("RGB").resize((width, max(1, round(picture.height * scale))), Image.LANCZOS)
            left = 12 + index * (width + 12)
            sheet.paste(small.crop((0, 0, width, min(height, small.height))), (left, 30))
            ImageDraw.Draw(sheet).text((left, 10), name, fill="black")
        sheet.save(out / f"sheet-{size}-{light}-{start // ON_A_SHEET[size] + 1}.png")


def _renew_readme(browser, address, account, pages):
    folder = Path(settings.ROOT) / "static" / "img" / "readme"
    folder.mkdir(parents=True, exist_ok=True)
    for name, (page_name, size, height) in README.items():
        page = _page(browser, address, account, page_name, size, "light")
        page.set_viewport_size({"width": SIZES[size][0], "height": height})
        page.goto(address + pages[page_name])
        page.evaluate("document.fonts.ready")
        page.screenshot(path=str(folder / f"{name}.png"))
        _press(folder / f"{name}.png")
        page.context.close()


def _press(file):
    """Keep as many colours as the pages have and no more: a third of the bytes."""
    with Image.open(file) as picture:
        picture.convert("RGB").quantize(64, dither=Image.Dither.NONE).save(file, optimize=True)
