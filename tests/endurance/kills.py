"""Kill the server again and again while phones write to it, then look whether anything acknowledged is gone.

The long form, 100 kills under 8 writers, writes tests/endurance/RESULTS.md:

    python -m tests.endurance.kills --kills 100 --writers 8
"""

import argparse
import contextlib
import random
import sqlite3
import tempfile
import threading
import time
from dataclasses import dataclass
from pathlib import Path

from tests.endurance.found import Found, look
from tests.endurance.results import lay_down_section, made_with, table_of
from tests.endurance.server import Server, lay_down, manage
from tests.endurance.writers import Acknowledged, Writer

SETTLE_SECONDS = 240


@dataclass(frozen=True)
class Outcome:
    """One run: what was done, what was said, what is there."""

    kills: int
    writers: int
    seconds: float
    slowest_start: float
    said: Acknowledged
    found: Found
    doctor: str


def run(data: Path, *, kills: int, writers: int, seed: int = 1, say=print) -> Outcome:
    """Lay a log down in `data`, write to it, kill the server `kills` times, and look."""
    began, chance = time.monotonic(), random.Random(seed)
    log = lay_down(data, writers)
    server, stop = Server(data), threading.Event()
    server.start()
    phones = [Writer(log, number, server.port, stop, seed) for number in range(writers)]
    for phone in phones:
        phone.start()
    for number in range(kills):
        time.sleep(chance.uniform(0.2, 2.5))
        server.kill()
        server.start()
        if (number + 1) % 10 == 0:
            say(f"{number + 1} kills, {sum(phone.said.count for phone in phones)} acknowledged")
    time.sleep(2)
    stop.set()
    for phone in phones:
        phone.join(timeout=60)
    settle(data)
    code = server.stop()
    said = together(phones)
    doctor = manage(data, "doctor", "--files")
    verdict = f"exit {doctor.returncode}, server ended with {code}"
    return Outcome(
        kills, writers, time.monotonic() - began, server.slowest_start, said, look(data, said), verdict
    )


def settle(data: Path) -> None:
    """Wait until the worker has made every photograph ready, those whose worker was killed included."""
    deadline = time.monotonic() + SETTLE_SECONDS
    waiting = "SELECT COUNT(*) FROM buildlog_job WHERE state IN ('queued', 'running')"
    while time.monotonic() < deadline:
        with contextlib.closing(sqlite3.connect(data / "reckoner.sqlite3")) as database:
            if not database.execute(waiting).fetchone()[0]:
                return
        time.sleep(0.5)


def together(phones: list[Writer]) -> Acknowledged:
    every = Acknowledged()
    for phone in phones:
        every.readings |= phone.said.readings
        every.photos |= phone.said.photos
        every.answers += phone.said.answers
        every.sent_again += phone.said.sent_again
        every.kept_before += phone.said.kept_before
        every.two_names += phone.said.two_names
        every.odd += phone.said.odd
    return every


def as_table(outcome: Outcome) -> str:
    said, found = outcome.said, outcome.found
    rows = [
        ("kills of the whole server tree (SIGKILL)", outcome.kills),
        ("writers", outcome.writers),
        ("readings acknowledged", len(said.readings)),
        ("photographs acknowledged", len(said.photos)),
        ("**acknowledged readings lost**", found.lost_readings),
        ("**acknowledged photographs lost**", found.lost_photos),
        ("**rows twice, or two ids for one name**", found.twice),
        ("**rows without a file**", found.rows_without_file),
        ("**files with other bytes than their row says**", found.files_with_other_bytes),
        ("**integrity_check**", found.integrity),
        ("**loose foreign keys**", found.loose_rows),
        ("**photographs not made ready, jobs failed**", found.not_ready + found.failed_jobs),
        ("answers with status 5xx", sum(count for status, count in said.answers.items() if status >= 500)),
        ("other refusals", len(said.odd)),
        ("posts sent again after a cut connection, and kept", said.sent_again),
        ("of these already kept before the cut (answered 200, same id)", said.kept_before),
        ("rows kept but never acknowledged (allowed)", found.readings + found.photos - said.count),
        ("files that no row names, left for the sweep (allowed)", found.orphans),
        ("half-written `.part` files, left for the sweep (allowed)", found.parts),
        ("slowest start of the server", f"{outcome.slowest_start:.1f} s"),
        ("the doctor, reading every file", outcome.doctor),
        ("the whole run", f"{outcome.seconds:.0f} s"),
    ]
    return table_of(rows)


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--kills", type=int, default=100)
    asked.add_argument("--writers", type=int, default=8)
    asked.add_argument("--seed", type=int, default=1)
    options = asked.parse_args()
    with tempfile.TemporaryDirectory(prefix="reckoner-kills-") as folder:
        outcome = run(Path(folder) / "data", kills=options.kills, writers=options.writers, seed=options.seed)
    table = as_table(outcome)
    print(table)
    if outcome.said.odd:
        print("first odd answers:", *outcome.said.odd[:3], sep="\n")
    if outcome.kills >= 100:
        lay_down_section("Kills", _section(table, options.seed))
    return 1 if outcome.found.faults else 0


def _section(table: str, seed: int) -> str:
    return f"""Made by `python -m tests.endurance.kills` (seed {seed}; {made_with()}).
The server is `manage.py serve`, killed with all its threads and children at random moments while phones post
widths (three a post) and photographs, each again until it is acknowledged. Afterwards the database and the
disk are read directly. The lines in bold must be nought, and the integrity ok.

{table}"""


if __name__ == "__main__":
    raise SystemExit(main())
