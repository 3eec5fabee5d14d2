"""How many phones one small server bears: a hundred post five widths each, as fast as they are answered.

    python -m tests.benchmarks.writers [--seconds 60]

The real server (waitress, SQLite with synchronous FULL) on a throw-away log with the sample hull. Afterwards every
reading that the server said it keeps is looked for in the log.
"""

import argparse
import os
import random
import sqlite3
import statistics
import sys
import tempfile
import threading
import time
import uuid
from collections import Counter
from pathlib import Path
from urllib.parse import urlencode

from tests.benchmarks.entry_speed import RESULTS, Phone, processor_ms

HEAD, FOOT = "<!-- writers: begin -->", "<!-- writers: end -->"
WRITERS = 100


class Writer(threading.Thread):
    """One phone that posts the widths of one strake after another."""

    def __init__(self, phone: Phone, strakes: list[dict], number: int, stop: threading.Event):
        super().__init__(daemon=True)
        self.phone, self.strakes, self.stop = phone, strakes, stop
        self.chance = random.Random(number)
        self.taken, self.answers, self.kept = [], Counter(), []

    def run(self) -> None:
        while not self.stop.is_set():
            strake = self.chance.choice(self.strakes)
            names = {station["name"]: str(uuid.uuid4()) for station in strake["stations"]}
            form = {"damp": "dry", "stage": "cut", "instrument": strake["instrument"]}
            for station in strake["stations"]:
                form |= {station["name"]: station["wanted"], f"{station['name']}-uuid": names[station["name"]]}
            began = time.perf_counter()
            status, _told = self.phone.ask("POST", strake["url"], urlencode(form), Accept="application/json")
            self.taken.append(time.perf_counter() - began)
            self.answers[status] += 1
            if status in (200, 201):
                self.kept += names.values()


def lost(data: Path, said: list[str]) -> int:
    with sqlite3.connect(f"file:{next(data.glob('*.sqlite3'))}?mode=ro", uri=True) as log:
        held = {row[0] for row in log.execute("SELECT client_uuid FROM buildlog_reading")}
    return sum(name.replace("-", "") not in held for name in said)


def measure(folder: Path, seconds: int) -> list[tuple[str, str, str]]:
    from tests.endurance.server import Server
    from tests.journeys.laid_down import lay_down

    laid = lay_down(folder)
    server = Server(laid.sample)
    server.start()
    try:
        strakes = Phone(server, laid.cookie, laid.build).strakes()
        stop = threading.Event()
        writers = [Writer(Phone(server, laid.cookie, laid.build), strakes, number, stop) for number in range(WRITERS)]
        before_ms, began = processor_ms(server.process.pid), time.perf_counter()
        for writer in writers:
            writer.start()
        time.sleep(seconds)
        stop.set()
        for writer in writers:
            writer.join(60)
        spent, each_ms = time.perf_counter() - began, processor_ms(server.process.pid) - before_ms
    finally:
        server.stop()
    return told_of(writers, spent, each_ms, lost(laid.sample, [name for writer in writers for name in writer.kept]),
                   server.words().count("database is locked"))  # fmt: skip


def told_of(writers, spent: float, server_ms: float, gone: int, locked: int) -> list[tuple[str, str, str]]:
    taken = [one for writer in writers for one in writer.taken]
    answers = sum((writer.answers for writer in writers), Counter())
    readings = sum(len(writer.kept) for writer in writers)
    broken = sum(count for status, count in answers.items() if status >= 500)
    cuts = statistics.quantiles(taken, n=100)
    return [
        ("posts of five widths a second", f"{answers[200] + answers[201]:.0f} in {spent:.0f} s: "
         f"{(answers[200] + answers[201]) / spent:.1f}", "at least 100"),
        ("readings kept a second", f"{readings / spent:.0f}", ""),
        ("half of the posts answered within, s", f"{cuts[49]:.2f}", ""),
        ("19 of 20 answered within, s", f"{cuts[94]:.2f}", "1.5"),
        ("99 of 100 answered within, s", f"{cuts[98]:.2f}", "2.5"),
        ("the slowest, s", f"{max(taken):.1f}", "10"),
        ("processor time of the server a post, ms", f"{server_ms / len(taken):.1f}", ""),
        ("the most that one interpreter can answer at that, posts a second",
         f"{1000 * len(taken) / server_ms:.0f}", ""),
        ("answers of 500 and above; \"database is locked\"; readings acknowledged and not there",
         f"{broken}; {locked}; {gone}", "0; 0; 0"),
    ]  # fmt: skip


def write(rows) -> str:
    told = "\n".join([
        HEAD, "## A hundred phones at once", "",
        f"`python -m tests.benchmarks.writers`: {WRITERS} phones, each posting the five widths of a strake as soon as "
        "the last were answered; the server (waitress, SQLite, synchronous FULL) and all phones on the same two cores.",
        "", "| what | measured | goal |", "|---|---|---|",
        *(f"| {what} | {value} | {goal} |" for what, value, goal in rows),
        "", f"Python {sys.version.split()[0]}; load of the machine at the end, the phones among it: "
        f"{os.getloadavg()[0]:.1f}.",
        FOOT,
    ])  # fmt: skip
    old = RESULTS.read_text("utf-8")
    if HEAD in old:
        new = old[: old.index(HEAD)] + told + old[old.index(FOOT) + len(FOOT) :]
    else:
        new = old.rstrip("\n") + "\n\n" + told + "\n"
    RESULTS.write_text(new, "utf-8")
    return told


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=int, default=60)
    seconds = parser.parse_args().seconds
    with tempfile.TemporaryDirectory() as folder:
        print(write(measure(Path(folder), seconds)))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
