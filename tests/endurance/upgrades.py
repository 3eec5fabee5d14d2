"""Kill `serve` while it brings an older log to a newer version, then look: the old tables or the new, never
a mix.

The newer version is this one with two steps more (tests/buildlog/archive/newer_migrations):

    python -m tests.endurance.upgrades --kills 50
"""

import argparse
import contextlib
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from tests.endurance.results import lay_down_section, made_with, table_of
from tests.endurance.server import ROOT, environment_of

READINGS = 4000
NEWER = {"DJANGO_SETTINGS_MODULE": "tests.buildlog.archive.newer_settings"}

_LAY_DOWN = f"""
import uuid
import django
django.setup()
from django.core.management import call_command
from buildlog.actions.sessions import start_session
from buildlog.models import Account, Reading
from tests.hulls import LAID_DOWN, lay_down_hull

call_command("migrate", verbosity=0)
hull = lay_down_hull(Account.objects.create_account("owner"))
start_session(hull.build, person=hull.person, now=LAID_DOWN, local_date=LAID_DOWN.date())
Reading.objects.bulk_create(
    Reading(
        build=hull.build, client_uuid=uuid.uuid4(), kind="width", opening=hull.opening, method="jaws",
        strake=hull.strakes["1"], station=hull.stations[0], value_nm=5_000_000 + number, typed=str(number),
        unit="mm", person=hull.person, happened_at=LAID_DOWN, known_at=LAID_DOWN, received_at=LAID_DOWN,
    )
    for number in range({READINGS})
)
"""
_BRING_UP = (
    "import django; django.setup(); from buildlog.site.upgrade import bring_up_to_date as up; up(print)"
)


def run(folder: Path, *, kills: int, seed: int = 1, say=print) -> Counter:
    """Lay an older log down, and kill the upgrade of a copy of it `kills` times at random moments."""
    older, chance, told = folder / "older", random.Random(seed), Counter()
    _python(older, _LAY_DOWN, {})
    began = time.monotonic()
    shutil.copytree(older, folder / "timed")
    _python(folder / "timed", _BRING_UP, NEWER)
    whole = time.monotonic() - began
    for number in range(kills):
        data = folder / "data"
        shutil.copytree(older, data)
        told.update(_kill_one(data, chance.uniform(0.1, 1.1) * whole))
        shutil.rmtree(data)
        if (number + 1) % 10 == 0:
            say(f"{number + 1} kills: {dict(told)}")
    return told


def _kill_one(data: Path, after: float) -> Counter:
    command = [sys.executable, "-c", _BRING_UP]
    process = subprocess.Popen(
        command, env=environment_of(data) | NEWER, cwd=ROOT, stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL, start_new_session=True,
    )  # fmt: skip
    with contextlib.suppress(subprocess.TimeoutExpired):
        process.wait(timeout=after)
    with contextlib.suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGKILL)
    process.wait()
    told = Counter([_state_of(data)])
    again = _python(data, _BRING_UP, NEWER, check=False)
    told["**starts after it that failed**"] += again.returncode != 0
    told["**not brought to the newer version by the next start**"] += (
        _state_of(data) != "found at the newer version"
    )
    told["**rows lost or not filled**"] += not _is_filled(data)
    return told


def _state_of(data: Path) -> str:
    """Say which version a log is of, by its list of steps and by its columns; both must tell the same."""
    with contextlib.closing(sqlite3.connect(data / "reckoner.sqlite3")) as database:
        steps = {
            name for (name,) in database.execute("SELECT name FROM django_migrations WHERE app = 'buildlog'")
        }
        has = {
            "9998_mark": _has(database, "reading", "mark"),
            "9999_weather": _has(database, "session", "weather"),
        }
        whole = database.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        loose = database.execute("PRAGMA foreign_key_check").fetchone()
    if not whole or loose or any((name in steps) != there for name, there in has.items()):
        return "**found mixed or damaged**"
    words = {
        0: "found at the older version",
        1: "found between the two steps",
        2: "found at the newer version",
    }
    return words[sum(has.values())]


def _has(database, table: str, column: str) -> bool:
    asked = f"SELECT COUNT(*) FROM pragma_table_info('buildlog_{table}') WHERE name = ?"
    return database.execute(asked, [column]).fetchone()[0] == 1


def _is_filled(data: Path) -> bool:
    with contextlib.closing(sqlite3.connect(data / "reckoner.sqlite3")) as database:
        marks = database.execute(
            "SELECT COUNT(*) FROM buildlog_reading WHERE mark = 'was ' || typed"
        ).fetchone()[0]
        weather = database.execute("SELECT DISTINCT weather FROM buildlog_session").fetchall()
    return marks == READINGS and weather == [("not noted",)]


def _python(data: Path, code: str, more: dict[str, str], check=True) -> subprocess.CompletedProcess:
    environment = environment_of(data) | more
    done = subprocess.run(
        [sys.executable, "-c", code], env=environment, cwd=ROOT, capture_output=True, text=True, check=False
    )
    if check and done.returncode:
        raise RuntimeError(done.stderr)
    return done


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--kills", type=int, default=50)
    asked.add_argument("--seed", type=int, default=1)
    options = asked.parse_args()
    with tempfile.TemporaryDirectory(prefix="reckoner-upgrades-") as folder:
        told = run(Path(folder), kills=options.kills, seed=options.seed)
    table = table_of(
        [("kills in the middle of an upgrade", options.kills), *sorted(told.items(), reverse=True)]
    )
    print(table)
    if options.kills >= 50:
        lay_down_section("Upgrades", _section(table, options.seed))
    return 1 if any(count for name, count in told.items() if name.startswith("**")) else 0


def _section(table: str, seed: int) -> str:
    return f"""Made by `python -m tests.endurance.upgrades` (seed {seed}; {made_with()}).
A log with {READINGS} readings is backed up and brought to a version with two steps more, and killed at a
random moment of that. The lines in bold must be nought.

{table}"""


if __name__ == "__main__":
    raise SystemExit(main())
