"""One person with one browser: a phone in the hand or a desk, and all that went wrong on its pages."""

import re
import time
from collections.abc import Callable

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

SIZES = {"phone": {"width": 360, "height": 740}, "desk": {"width": 1280, "height": 900}}
# How long a thing may take on two busy cores before the journey gives up. Nothing waits this long by itself.
PATIENCE_MS = 45_000
expect.set_options(timeout=PATIENCE_MS)


class Visitor:
    """A browser context at one address. ``problems`` are console errors (every breach of the policy is one) and
    exceptions of scripts; a refused request that the journey is about is taken out by `forgive`.
    """

    def __init__(self, browser, address: str, device: str, **options):
        self.address, self.device = address, device
        self.context = browser.new_context(
            viewport=SIZES[device], has_touch=device == "phone", is_mobile=device == "phone", base_url=address,
            **options,
        )
        self.context.set_default_timeout(PATIENCE_MS)
        self.problems: list[str] = []
        self.page = self.new_page()

    def new_page(self) -> Page:
        page = self.context.new_page()
        page.on("console", self._hear)
        page.on("pageerror", lambda problem: self.problems.append(f"{page.url}: {problem}"))
        return page

    def _hear(self, message) -> None:
        if message.type == "error" or "Content Security Policy" in message.text:
            self.problems.append(f"{message.location.get('url', '')}: {message.text}")

    def forgive(self, pattern: str) -> int:
        """Take out the problems that the journey means to meet; return how many there were."""
        kept = [problem for problem in self.problems if not re.search(pattern, problem)]
        forgiven, self.problems = len(self.problems) - len(kept), kept
        return forgiven

    def press(self, locator) -> None:
        """Touch it or click it, as the device has it."""
        locator.tap() if self.device == "phone" else locator.click()

    def button(self, name: str, exact: bool = True):
        return self.page.get_by_role("button", name=name, exact=exact)

    def link(self, name: str, exact: bool = True):
        return self.page.get_by_role("link", name=name, exact=exact)

    def h1(self) -> str:
        return self.page.locator("h1").inner_text()

    def wait_for(self, holds: Callable[[], bool], what: str) -> None:
        """Load the page again until something holds that the server does in its own time."""
        until = time.monotonic() + 3 * PATIENCE_MS / 1000
        while not holds():
            assert time.monotonic() < until, f"waited in vain for {what}"
            self.page.reload()

    def serious(self) -> list[tuple[str, str]]:
        """Return what axe finds on the page that keeps somebody out: the rule, and the first place it is broken."""
        found = Axe().run(self.page, options={"resultTypes": ["violations"]}).response["violations"]
        return [(one["id"], one["nodes"][0]["html"]) for one in found if one["impact"] in ("serious", "critical")]

    def close(self) -> None:
        self.context.close()


def name_of(path: str):
    """Return the pattern of an address of this site: its path, whatever identities stand in it."""
    return re.compile(r"^https?://[^/]+" + re.sub(r"\*", r"[^/?#]+", path) + r"(?:[?#].*)?$")


FOCUS = """() => { const one = document.activeElement, seen = one.closest('.choice label') || one;
  const look = getComputedStyle(seen), box = seen.getBoundingClientRect(), row = one.closest('.entry-row');
  return {name: one.tagName + ' ' + (one.id || one.name || one.textContent.trim().slice(0, 30)),
    // The whole row of an entry is marked, by a thick edge, in place of the field in it.
    seen: row ? parseFloat(getComputedStyle(row).borderLeftWidth)
      : look.outlineStyle === 'none' ? 0 : parseFloat(look.outlineWidth),
    inside: box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth}; }"""


def tab_to(page, selector: str, *, at_most: int = 60) -> None:
    """Go there by the keyboard alone; the focus must be seen at every stop on the way."""
    for _ in range(at_most):
        if page.evaluate("selector => document.activeElement.matches(selector)", selector):
            return
        page.keyboard.press("Tab")
        focus = page.evaluate(FOCUS)
        if focus["name"].startswith("BODY "):
            continue  # Past the last stop, where a browser's own bar is; the next one is the first again.
        assert focus["seen"] >= 3, f"the focus is not seen on {focus['name']}"
        assert focus["inside"], f"the focus is out of sight on {focus['name']}"
    raise AssertionError(f"{selector} is not reached by Tab from the top of {page.url}")
