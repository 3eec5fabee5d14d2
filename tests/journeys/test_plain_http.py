"""A phone on the house network: plain http and a name that is not localhost, where a browser drops Secure cookies."""

import http.client
import re
from urllib.parse import urlencode

import pytest
from PIL import Image
from playwright.sync_api import expect

from tests.browser import launch
from tests.buildlog.photos.file_parts import saved
from tests.endurance.server import manage
from tests.journeys.laid_down import PASSWORD
from tests.journeys.visitor import name_of

pytestmark = pytest.mark.journeys
HOST = "bench.test"


@pytest.fixture(scope="module")
def house_log(serve):
    return serve(sample=False, ALLOWED_HOSTS=HOST)


@pytest.fixture(scope="module")
def house_browser(playwright):
    chromium = launch(playwright, f"--host-resolver-rules=MAP {HOST} 127.0.0.1")
    yield chromium
    chromium.close()


def test_signing_in_by_link_and_by_password_and_posting_over_plain_http(house_log, house_browser, visit):
    phone = visit(house_log, in_browser=house_browser, host=HOST)
    page = phone.page

    page.goto(at_house(re.search(r"  (http://\S+/once/\S+)", house_log.words())[1]))
    assert page.evaluate("isSecureContext") is False
    page.get_by_label("Name").fill("Anna")
    page.get_by_label("Password").fill(PASSWORD)
    phone.press(phone.button("Open my log"))
    expect(page.locator("h1")).to_have_text("Builds")
    assert {one["name"]: (one["domain"], one["secure"], one["httpOnly"], one["sameSite"])
            for one in phone.context.cookies()} == {
        name: (HOST, False, True, "Lax") for name in ("session", "csrf", "device")
    }  # fmt: skip
    page.reload()
    expect(page.locator("h1")).to_have_text("Builds")

    page.goto("/account/")
    phone.press(phone.button("Sign out on this device"))
    expect(page).to_have_url(name_of("/sign-in/"))
    page.get_by_label("Name").fill("anna")
    page.get_by_label("Password").fill(PASSWORD)
    phone.press(phone.button("Sign in"))
    expect(page.locator("h1")).to_have_text("Builds")

    other = visit(house_log, in_browser=house_browser, host=HOST)
    told = manage(house_log.data, "account", "Anna").stdout
    other.page.goto(at_house(re.search(r"\s(http://\S+/once/\S+)", told)[1]).replace(":8000", f":{house_log.port}"))
    other.press(other.button("Sign in as Anna"))
    expect(other.page.locator("h1")).to_have_text("Builds")
    keeps_a_photograph(other)


def at_house(link: str) -> str:
    return re.sub(r"//[^/:]+", f"//{HOST}", link)


def keeps_a_photograph(visitor) -> None:
    """Plain forms, and one that a script sends, pass the check of their origin."""
    page = visitor.page
    visitor.press(visitor.link("Start my own"))
    page.get_by_label("Name of the model").fill("Skiff")
    page.get_by_label("photographs only").check()
    visitor.press(visitor.button("Go on"))
    expect(page).to_have_url(name_of("/builds/*/log/"))
    visitor.press(visitor.link("Photo + note").first)
    picture = saved(Image.new("RGB", (320, 240), "teal"), "JPEG")
    page.locator("[name=photos]").set_input_files([{"name": "bow.jpg", "mimeType": "image/jpeg", "buffer": picture}])
    visitor.press(visitor.button("Keep it"))
    expect(page).to_have_url(name_of("/builds/*/bench/"))
    # What is brought for a time without signal leaves alone what the page says.
    page.wait_for_selector("html[data-offline-entry=here]", state="attached")
    expect(page.locator("#message")).to_contain_text("1 photograph received.")
    visitor.press(page.locator("main").get_by_role("link", name="Log"))
    expect(page.locator("article.session figure")).to_have_count(1)


def test_a_form_sent_from_another_site_is_refused_over_plain_http(house_log, house_browser, visit):
    """The control: were the origin not looked at, the journey above would pass as well."""
    phone = visit(house_log, in_browser=house_browser, host=HOST)
    phone.page.goto("/sign-in/")
    token = phone.page.locator("[name=csrfmiddlewaretoken]").first.input_value()
    cookies = "; ".join(f"{one['name']}={one['value']}" for one in phone.context.cookies())
    form = urlencode({"sign_in_name": "nobody", "password": "x", "csrfmiddlewaretoken": token})

    def post(origin):
        connection = http.client.HTTPConnection("127.0.0.1", house_log.port)
        connection.request("POST", "/sign-in/", form, {
            "Host": f"{HOST}:{house_log.port}", "Origin": origin, "Cookie": cookies,
            "Content-Type": "application/x-www-form-urlencoded",
        })  # fmt: skip
        status = connection.getresponse().status
        connection.close()
        return status

    assert post("http://elsewhere.test") == 403
    assert post(f"http://{HOST}:{house_log.port}") == 200
