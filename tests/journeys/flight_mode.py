"""What a journey asks of a phone without a signal: what waits on it, what the log has, a strake typed into it."""

import sqlite3
import time
from contextlib import closing

from playwright.sync_api import expect

NO_SIGNAL = "ERR_INTERNET_DISCONNECTED|ERR_CONNECTION_REFUSED|ERR_FAILED|Failed to load resource"
ITEMS = "reckoner.all('waiting').then(all => all.map(one => [one.title, one.tries, one.needs]))"


def scripts_run(page) -> None:
    """Wait until a page that was just opened has run its own scripts."""
    page.wait_for_function("() => window.reckoner && reckoner.flush && reckoner.keep")


def rows(log, query, *values):
    with closing(sqlite3.connect(log.data / "reckoner.sqlite3")) as database:
        return database.execute(query, values).fetchall()


def typed(log, figure) -> int:
    return rows(log, "SELECT COUNT(*) FROM buildlog_reading WHERE typed = ?", figure)[0][0]


def waiting(page) -> list:
    scripts_run(page)
    return page.evaluate(ITEMS)


def until(holds, what, seconds=15):
    end = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < end, f"waited in vain for {what}"
        time.sleep(0.05)


FIGURES = iter(range(1, 90))


def figure_near(page, number=0) -> str:
    """Return a figure near what is wanted that no other journey types, so that it can be counted in the log."""
    wanted = float(page.locator(".entry-row").nth(number).get_attribute("data-wanted"))
    return f"{wanted + 0.0001 * next(FIGURES):.4f}"


def type_widths(page, number=1) -> list[str]:
    figures = [figure_near(page, row) for row in range(number)]
    for row, figure in enumerate(figures):
        page.locator(".entry-row input[inputmode]").nth(row).fill(figure)
    return figures


def done(visitor) -> None:
    visitor.press(visitor.page.locator(".entry-done:visible, .keypad .done:visible").first)


def kept(visitor) -> None:
    done(visitor)
    expect(visitor.page.locator("[data-kept-here]")).to_contain_text("Kept on this phone")


def send(page) -> None:
    scripts_run(page)
    page.evaluate("reckoner.flush()")


def answer_once(page, what) -> list:
    """Let the next post be answered otherwise; return the list of posts met."""
    met = []

    def handle(route):
        if route.request.method != "POST" or met:
            return route.fallback()
        met.append(route.request.url)
        return what(route)

    page.route("**/widths/", handle)
    return met
