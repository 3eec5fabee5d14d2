"""When the first content of the bench's pages is seen on a slow phone with a slow line and nothing kept of any visit.

    python -m tests.benchmarks.first_content

Chromium of 360 x 740, processor slowed 4 times, 1.6 Mbit/s, 150 ms there and back; median of 20 after 3.
"""

import statistics
import tempfile
from pathlib import Path

from tests.benchmarks.entry_speed import RESULTS, TURNS, WARM_UP

HEAD, FOOT = "<!-- first content: begin -->", "<!-- first content: end -->"
PAGES = ("bench", "widths", "card")
GOAL_MS = 1500
SEEN = "performance.getEntriesByName('first-contentful-paint').map(one => one.startTime)[0]"


def seen_after(browser, address, cookie, path) -> float:
    context = browser.new_context(viewport={"width": 360, "height": 740}, is_mobile=True, has_touch=True)
    context.add_cookies([cookie | {"url": address}])
    page = context.new_page()
    wire = context.new_cdp_session(page)
    wire.send("Network.enable")
    wire.send("Network.emulateNetworkConditions", {
        "offline": False, "latency": 150, "downloadThroughput": 200_000, "uploadThroughput": 200_000,
    })  # fmt: skip
    wire.send("Emulation.setCPUThrottlingRate", {"rate": 4})
    page.goto(address + path)
    page.wait_for_function(f"{SEEN} > 0")
    milliseconds = page.evaluate(SEEN)
    context.close()
    return milliseconds


def measure(folder: Path) -> list[tuple[str, float]]:
    from playwright.sync_api import sync_playwright

    from tests.browser import launch
    from tests.endurance.server import Server
    from tests.journeys.laid_down import lay_down

    laid = lay_down(folder)
    server = Server(laid.sample)
    server.start()
    try:
        with sync_playwright() as play:
            browser = launch(play)
            address, found = f"http://127.0.0.1:{server.port}", []
            for name in PAGES:
                taken = [seen_after(browser, address, laid.cookie, laid.pages[name]) for _ in range(WARM_UP + TURNS)]
                found.append((name, statistics.median(taken[WARM_UP:])))
            return found
    finally:
        server.stop()


def write(found) -> str:
    told = "\n".join([
        HEAD, "## First content", "",
        "`python -m tests.benchmarks.first_content`: Chromium of 360 x 740, processor slowed 4 times, 1.6 Mbit/s, "
        "150 ms, nothing cached; median of 20 after 3, two cores shared with other work.",
        "", "| page | ms | goal under |", "|---|---|---|",
        *(f"| {name} | {milliseconds:.0f} | {GOAL_MS} |" for name, milliseconds in found), FOOT,
    ])  # fmt: skip
    old = RESULTS.read_text("utf-8")
    kept = old[: old.index(HEAD)] + old[old.index(FOOT) + len(FOOT) :] if HEAD in old else old
    RESULTS.write_text(kept.rstrip("\n") + "\n\n" + told + "\n", "utf-8")
    return told


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        print(write(measure(Path(folder))))
