"""How long the sample hull's entry takes to answer: five widths posted, and the page with the sentence they come to.

    python -m tests.benchmarks.entry_speed

The real server on a throw-away log with the disk's own syncing, asked over the loopback as a phone's page asks it; the
clock on the wall, median of 20 after 3, once with nothing else to do and once while its worker reads 20 photographs
of 12 megapixels. ``--widths-a-second`` also lets many phones post at once.
"""

import argparse
import http.client
import io
import json
import os
import random
import secrets
import sqlite3
import statistics
import sys
import tempfile
import threading
import time
import uuid
from pathlib import Path
from urllib.parse import urlencode

RESULTS = Path(__file__).with_name("RESULTS.md")
HEAD, FOOT = "<!-- entry: begin -->", "<!-- entry: end -->"
TURNS, WARM_UP, PHOTOS = 20, 3, 20
GOAL_MS = 100
WRITERS, SECONDS = 100, 20


class Phone:
    """One signed-in browser that keeps its connection."""

    def __init__(self, server, cookie, build):
        self.port, self.cookie, self.build = server.port, cookie, build
        self.secret = secrets.token_hex(16)
        self.line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)

    def ask(self, method, path, body=None, kind="application/x-www-form-urlencoded", **headers):
        sent = {
            "Cookie": f"{self.cookie['name']}={self.cookie['value']}; csrf={self.secret}", "X-CSRFToken": self.secret,
            "Content-Type": kind, **headers,
        }  # fmt: skip
        self.line.request(method, path, body, sent)
        answer = self.line.getresponse()
        return answer.status, answer.read()

    def strakes(self) -> list[dict]:
        """Return the next strakes with what is wanted at each station, as a phone without signal keeps them."""
        return json.loads(self.ask("GET", f"/builds/{self.build}/packet/")[1])["strakes"]

    def record(self, strake: dict) -> float:
        """Post the five widths of a strake and get the page that says what they come to; return the milliseconds."""
        form = {"damp": "dry", "stage": "cut", "instrument": strake["instrument"]}
        for station in strake["stations"]:
            form |= {station["name"]: station["wanted"], f"{station['name']}-uuid": str(uuid.uuid4())}
        began = time.perf_counter()
        status, told = self.ask("POST", strake["url"], urlencode(form), Accept="application/json")
        if status != 201:
            raise RuntimeError(f"{status}: {told[:300]!r}")
        status, page = self.ask("GET", json.loads(told)["next"], **{"HX-Request": "true"})
        taken = (time.perf_counter() - began) * 1000
        if status != 200 or b'role="status"' not in page:
            raise RuntimeError(f"{status}: {page[:300]!r}")
        return taken

    def send_photo(self, content: bytes) -> None:
        from tests.endurance.writers import _multipart

        body, kind = _multipart({"batch": str(uuid.uuid4())}, content)
        status, told = self.ask("POST", f"/builds/{self.build}/photo-note/", body, kind, Accept="application/json")
        if status not in (200, 201):
            raise RuntimeError(f"{status}: {told[:300]!r}")


def picture(seed: int) -> bytes:
    from PIL import Image

    grain = Image.frombytes("RGB", (400, 300), random.Random(seed).randbytes(400 * 300 * 3))
    out = io.BytesIO()
    grain.resize((4000, 3000)).save(out, "JPEG", quality=90)
    return out.getvalue()


def turns(phone: Phone, server) -> tuple[float, float]:
    """Return how long an entry took by the clock, and how much of a processor the server used for each."""
    strakes, taken, before_ms = phone.strakes(), [], 0.0
    for turn in range(WARM_UP + TURNS):
        if turn == WARM_UP:
            before_ms = processor_ms(server.process.pid)
        taken.append(phone.record(strakes[turn % len(strakes)]))
    return statistics.median(taken[WARM_UP:]), (processor_ms(server.process.pid) - before_ms) / TURNS


def processor_ms(pid: int) -> float:
    """Return the processor time that a process has had so far, all its threads together."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) * 1000 / os.sysconf("SC_CLK_TCK")


def photos_waiting(data: Path) -> int:
    with sqlite3.connect(f"file:{next(data.glob('*.sqlite3'))}?mode=ro", uri=True) as log:
        return log.execute("SELECT COUNT(*) FROM buildlog_photo WHERE state = 'received'").fetchone()[0]


def posts_a_second(server, laid) -> tuple[float, float]:
    """Let 100 phones post widths as fast as they are answered; return posts a second and the slowest but 5 %."""
    strakes = Phone(server, laid.cookie, laid.build).strakes()
    stop, taken = threading.Event(), []

    def write(number):
        phone, chance = Phone(server, laid.cookie, laid.build), random.Random(number)
        while not stop.is_set():
            strake, began = chance.choice(strakes), time.perf_counter()
            form = {"damp": "dry", "stage": "cut"}
            for station in strake["stations"]:
                form |= {station["name"]: station["wanted"], f"{station['name']}-uuid": str(uuid.uuid4())}
            status, _told = phone.ask("POST", strake["url"], urlencode(form), Accept="application/json")
            if status == 201:
                taken.append(time.perf_counter() - began)

    writers = [threading.Thread(target=write, args=[number], daemon=True) for number in range(WRITERS)]
    for writer in writers:
        writer.start()
    time.sleep(SECONDS)
    stop.set()
    counted = len(taken)
    for writer in writers:
        writer.join(60)
    return counted / SECONDS, statistics.quantiles(taken, n=20)[-1]


def measure(folder: Path, *, many: bool) -> list[tuple[str, str, str]]:
    from tests.endurance.server import Server
    from tests.journeys.laid_down import lay_down

    laid = lay_down(folder)
    server = Server(laid.sample)
    server.start()
    try:
        phone = Phone(server, laid.cookie, laid.build)
        alone, each_ms = turns(phone, server)
        for number in range(PHOTOS):
            phone.send_photo(picture(number))
        before = photos_waiting(laid.sample)
        busy, _with_worker_ms = turns(phone, server)
        after = photos_waiting(laid.sample)
        if after == 0:
            raise RuntimeError("the photographs were read before the entries were measured")
        rows = [
            ("five widths saved and their page, ms", f"{alone:.0f}", str(GOAL_MS)),
            ("processor time of the server for these, mean, ms", f"{each_ms:.0f}", str(GOAL_MS)),
            (f"the same while the worker reads photographs ({before} waiting at first, {after} at the end), ms",
             f"{busy:.0f}", str(GOAL_MS)),
        ]  # fmt: skip
        if many:
            pace, slow = posts_a_second(server, laid)
            rows.append((f"{WRITERS} phones post five widths at once: posts a second", f"{pace:.1f}", ""))
            rows.append(("and 19 of 20 of these were answered within, s", f"{slow:.1f}", ""))
        return rows
    finally:
        server.stop()


def write(rows) -> str:
    told = "\n".join([
        HEAD, "## Entry", "",
        "`python -m tests.benchmarks.entry_speed`: the sample hull on the real server (SQLite, synchronous FULL), over "
        "the loopback, clock on the wall, median of 20 after 3; two cores.",
        "", "| what | measured | goal under |", "|---|---|---|",
        *(f"| {what} | {value} | {goal} |" for what, value, goal in rows),
        "", f"Python {sys.version.split()[0]}; load of the machine meanwhile: {os.getloadavg()[0]:.1f}.",
        FOOT,
    ])  # fmt: skip
    old = RESULTS.read_text("utf-8")
    kept = old[: old.index(HEAD)] + old[old.index(FOOT) + len(FOOT) :] if HEAD in old else old
    RESULTS.write_text(kept.rstrip("\n") + "\n\n" + told + "\n", "utf-8")
    return told


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--widths-a-second", action="store_true", help="also let 100 phones post at once")
    many = parser.parse_args().widths_a_second
    with tempfile.TemporaryDirectory() as folder:
        print(write(measure(Path(folder), many=many)))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
