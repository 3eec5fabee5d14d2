"""Kill the browser again and again in flight mode, then look whether anything that it said it kept is gone.

The long form, 50 kills, writes its section of tests/endurance/RESULTS.md:

    python -m tests.endurance.flights --kills 50
"""

import argparse
import contextlib
import os
import random
import signal
import sqlite3
import tempfile
import time
import uuid
from dataclasses import dataclass, field
from pathlib import Path

from playwright.sync_api import sync_playwright

from tests.browser import FLAGS, chromium_path
from tests.endurance.results import lay_down_section, made_with, table_of
from tests.endurance.server import Log, Server, lay_down

PATIENCE_SECONDS = 240
# More than are written down before most kills, so that a kill falls between or within the writings.
ITEMS_A_FLIGHT = 24
# Items are put down one after another, as fast as they go, until the browser is killed; each is told when its
# transaction is complete, and not before.
HAMMER = """async items => { for (const [url, fields, id] of items) {
  await reckoner.keep({id, url, page: url, title: 'flight', fields}); console.log('kept ' + id); } }"""


@dataclass
class Outcome:
    """One run: what the phone said it kept, and what the log has."""

    kills: int
    said: set[str] = field(default_factory=set)
    found: dict[str, int] = field(default_factory=dict)
    left: int = 0
    seconds: float = 0.0
    killed_while_sending: int = 0

    @property
    def lost(self) -> int:
        return len([name for name in self.said if not self.found.get(name)])

    @property
    def twice(self) -> int:
        return len([name for name, count in self.found.items() if count > 1])


class Phone:
    """A browser with a profile that outlives it."""

    def __init__(self, playwright, profile: Path, log: Log, home: str):
        self.playwright, self.profile, self.log, self.home = playwright, profile, log, home
        self.context = self.page = None

    def open(self) -> None:
        self.context = self.playwright.chromium.launch_persistent_context(
            self.profile, executable_path=chromium_path() or None, args=FLAGS
        )
        # Chromium writes cookies down late: a phone killed at once signs in again, and so does this one.
        cookie = {"name": self.log.session_cookie, "value": self.log.cookies[0], "url": self.home}
        self.context.add_cookies([cookie])
        self.page = self.context.new_page()
        self.page.goto(f"{self.home}/builds/{self.log.build}/log/")

    def kill(self) -> None:
        """End every process of this profile, which its folder in the command line tells from any other."""
        mark = f"--user-data-dir={self.profile}".encode()
        for entry in Path("/proc").iterdir():
            with contextlib.suppress(OSError, ValueError):
                if mark in (entry / "cmdline").read_bytes().split(b"\0"):
                    os.kill(int(entry.name), signal.SIGKILL)
        with contextlib.suppress(Exception):
            self.context.close()


def run(folder: Path, *, kills: int, seed: int = 1, say=print) -> Outcome:
    """Record in flight mode, kill the browser, `kills` times; let it send at the end, and look in the log."""
    began, chance, outcome = time.monotonic(), random.Random(seed), Outcome(kills)
    log = lay_down(folder / "data", 1)
    server = Server(folder / "data")
    server.start()
    try:
        with sync_playwright() as playwright:
            phone = Phone(playwright, folder / "profile", log, f"http://127.0.0.1:{server.port}")
            for number in range(kills):
                _one_flight(phone, chance, outcome)
                if (number + 1) % 10 == 0:
                    say(f"{number + 1} kills, {len(outcome.said)} said to be kept")
            phone.open()
            outcome.left = _send_all(phone.page)
            phone.context.close()
    finally:
        server.kill()
    outcome.found = _found(folder / "data")
    outcome.seconds = time.monotonic() - began
    return outcome


def _one_flight(phone: Phone, chance: random.Random, outcome: Outcome) -> None:
    phone.open()
    page = phone.page
    page.on("console", lambda message: _hear(message.text, outcome))
    sends = chance.random() < 0.4
    # Also with the signal back in the middle, so that some kills meet a post on its way.
    phone.context.set_offline(not sends)
    items = [_item(phone.log, chance) for _ in range(ITEMS_A_FLIGHT)]
    page.evaluate("items => void (" + HAMMER + ")(items).then(() => reckoner.flush())", items)
    if sends:
        outcome.killed_while_sending += 1
    page.wait_for_timeout(chance.uniform(0, 250))
    phone.kill()


def _item(log: Log, chance: random.Random) -> list:
    strake, position = chance.choice(log.strakes), chance.choice(log.positions)
    name = str(uuid.UUID(int=chance.getrandbits(128), version=4))
    fields = [["damp", "dry"], ["stage", "cut"], [f"at{position}", f"{chance.uniform(4.95, 5.05):.2f}"],
              [f"at{position}-uuid", name]]  # fmt: skip
    return [f"/builds/{log.build}/strakes/{strake}/widths/", fields, name]


def _hear(text: str, outcome: Outcome) -> None:
    if text.startswith("kept "):
        outcome.said.add(text.removeprefix("kept ").replace("-", ""))


def _send_all(page) -> int:
    """Let the phone send until nothing waits; return how many items are left."""
    until, left = time.monotonic() + PATIENCE_SECONDS, -1
    while left and time.monotonic() < until:
        page.evaluate("reckoner.flush()")
        left = page.evaluate("reckoner.all('waiting').then(all => all.length)")
    return left


def _found(data: Path) -> dict[str, int]:
    with contextlib.closing(sqlite3.connect(data / "reckoner.sqlite3")) as database:
        query = "SELECT client_uuid, COUNT(*) FROM buildlog_reading GROUP BY client_uuid"
        return {name.replace("-", ""): count for name, count in database.execute(query)}


def as_table(outcome: Outcome) -> str:
    rows = [
        ("kills of the browser (SIGKILL)", outcome.kills),
        ("of these with the signal back, so that a post might be on its way", outcome.killed_while_sending),
        ("items that the phone said it kept", len(outcome.said)),
        ("**of these not in the log at the end**", outcome.lost),
        ("**in the log twice**", outcome.twice),
        ("**left waiting at the end**", outcome.left),
        ("in the log, and killed before the phone could say so (allowed)", len(set(outcome.found) - outcome.said)),
        ("the whole run", f"{outcome.seconds:.0f} s"),
    ]
    return table_of(rows)


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--kills", type=int, default=50)
    asked.add_argument("--seed", type=int, default=1)
    options = asked.parse_args()
    with tempfile.TemporaryDirectory(prefix="reckoner-flights-", ignore_cleanup_errors=True) as folder:
        outcome = run(Path(folder), kills=options.kills, seed=options.seed)
    table = as_table(outcome)
    print(table)
    if outcome.kills >= 50:
        lay_down_section("Flights", _section(table, options.seed))
    return 1 if outcome.lost or outcome.twice or outcome.left else 0


def _section(table: str, seed: int) -> str:
    return f"""Made by `python -m tests.endurance.flights` (seed {seed}; {made_with()}, Chromium).
One phone records widths as fast as they go, mostly in flight mode, and its browser is killed at random moments
with all its processes; the profile on the disk is all that is left. At the end it is opened once more with a
signal and sends. SIGKILL keeps what the system holds for the disk: a phone whose power is cut is not covered.

{table}"""


if __name__ == "__main__":
    raise SystemExit(main())
