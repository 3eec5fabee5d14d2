"""Cut the power again and again while phones write, then look whether anything acknowledged is gone.

The data folder lies on an ext4 file system of its own in an image file; a cut tells that file system to
forget everything that did not reach the disk (EXT4_IOC_SHUTDOWN, its journal not flushed). Linux and root:

    python -m tests.endurance.power_cuts --cuts 100 --writers 8
"""

import argparse
import fcntl
import os
import random
import struct
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from tests.endurance.found import Found, look
from tests.endurance.kills import settle, together
from tests.endurance.results import lay_down_section, made_with, table_of
from tests.endurance.server import Server, lay_down, manage
from tests.endurance.writers import Acknowledged, Writer

_IMAGE_MB = 2048
_SHUTDOWN = 0x8004587D
_WITHOUT_FLUSHING = 2


class Disk:
    """A disk whose power can be cut."""

    def __init__(self, folder: Path):
        self.image, self.mount = folder / "disk.img", folder / "disk"
        self.mount.mkdir()
        with self.image.open("wb") as file:
            file.truncate(_IMAGE_MB * 1024 * 1024)
        _run("mkfs.ext4", "-q", "-F", str(self.image))

    def put_in(self) -> None:
        _run("mount", "-o", "loop", str(self.image), str(self.mount))

    def cut(self) -> None:
        handle = os.open(self.mount, os.O_RDONLY)
        try:
            fcntl.ioctl(handle, _SHUTDOWN, struct.pack("I", _WITHOUT_FLUSHING))
        finally:
            os.close(handle)

    def take_out(self) -> None:
        for _ in range(50):
            if subprocess.run(["umount", str(self.mount)], capture_output=True, check=False).returncode == 0:
                return
            time.sleep(0.1)
        raise RuntimeError("the disk is held by a process")

    def is_sound(self) -> bool:
        """Replay the journal as a starting machine does, then check every block without changing one."""
        self.put_in()
        self.take_out()
        return (
            subprocess.run(["e2fsck", "-fn", str(self.image)], capture_output=True, check=False).returncode
            == 0
        )


@dataclass
class Cuts:
    """What every cut came to."""

    faults: Counter = field(default_factory=Counter)
    unsound: int = 0
    acknowledged: int = 0
    last: Found | None = None


def run(folder: Path, *, cuts: int, writers: int, seed: int = 1, say=print) -> tuple[Cuts, Acknowledged, str]:
    """Write to a log on a disk of its own and cut its power `cuts` times."""
    disk, chance, told = Disk(folder), random.Random(seed), Cuts()
    disk.put_in()
    data = disk.mount / "data"
    log = lay_down(data, writers)
    server, stop, deaf = Server(data, words_in=folder), threading.Event(), threading.Event()
    server.start()
    phones = [Writer(log, number, server.port, stop, seed, deaf) for number in range(writers)]
    for phone in phones:
        phone.start()
    for number in range(cuts):
        time.sleep(chance.uniform(0.3, 3.0))
        deaf.set()
        said = together(phones)
        disk.cut()
        server.kill()
        disk.take_out()
        told.unsound += not disk.is_sound()
        disk.put_in()
        _count(told, look(data, said), said)
        deaf.clear()
        server.start()
        if (number + 1) % 10 == 0:
            say(f"{number + 1} cuts, {told.acknowledged} acknowledged, faults {dict(told.faults)}")
    time.sleep(2)
    stop.set()
    for phone in phones:
        phone.join(timeout=60)
    settle(data)
    server.stop()
    doctor = manage(data, "doctor", "--files")
    said = together(phones)
    _count(told, look(data, said), said, at_rest=True)
    disk.take_out()
    return told, said, f"exit {doctor.returncode}"


def _count(told: Cuts, found: Found, said: Acknowledged, *, at_rest=False) -> None:
    for name, count in found.faults.items():
        # In the middle of a run photographs wait for the worker.
        if at_rest or name != "photographs not ready":
            told.faults[name] += count if isinstance(count, int) else 1
    told.acknowledged, told.last = said.count, found


def as_rows(cuts: int, writers: int, told: Cuts, said: Acknowledged, doctor: str) -> list[tuple[str, object]]:
    faults = (
        "lost readings", "lost photographs", "rows twice", "rows without file", "files with other bytes",
        "integrity", "loose rows", "photographs not ready", "failed jobs",
    )  # fmt: skip
    return [
        ("power cuts", cuts),
        ("writers", writers),
        ("readings acknowledged before a cut", len(said.readings)),
        ("photographs acknowledged before a cut", len(said.photos)),
        *((f"**{name}**, all cuts together", told.faults[name]) for name in faults),
        ("**file system not sound after its journal (e2fsck -fn)**", told.unsound),
        ("answers with status 5xx", sum(c for status, c in said.answers.items() if status >= 500)),
        ("posts sent again, and kept", said.sent_again),
        ("of these already kept (answered 200, same id)", said.kept_before),
        ("the doctor, reading every file", doctor),
    ]


def _run(*command: str) -> None:
    subprocess.run(command, check=True, capture_output=True)


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--cuts", type=int, default=100)
    asked.add_argument(
        "--control", type=int, default=10, help="cuts with syncing switched off, to see it fail"
    )
    asked.add_argument("--writers", type=int, default=8)
    asked.add_argument("--seed", type=int, default=1)
    options = asked.parse_args()
    if sys.platform != "linux" or os.geteuid() != 0:
        print("Power is cut by telling an ext4 file system of its own: on Linux, as root.")
        return 2
    told, said, doctor = _on_a_disk(options.cuts, options)
    rows = as_rows(options.cuts, options.writers, told, said, doctor)
    harm = _control(options)
    rows.append(
        (f"control: faults of {options.control} cuts with syncing switched off (must not be nought)", harm)
    )
    print(table_of(rows))
    if options.cuts >= 100:
        lay_down_section("Power cuts", _section(table_of(rows), options.seed))
    return 1 if told.faults or told.unsound or (options.control and not harm) else 0


def _on_a_disk(cuts: int, options) -> tuple[Cuts, Acknowledged, str]:
    with tempfile.TemporaryDirectory(prefix="reckoner-cuts-") as name:
        folder = Path(name)
        try:
            return run(folder, cuts=cuts, writers=options.writers, seed=options.seed)
        finally:
            with suppress(Exception):
                subprocess.run(["umount", str(folder / "disk")], capture_output=True, check=False)


def _control(options) -> int:
    """Cut the power of a server whose files are not synced: a look that finds nothing then is no look."""
    if not options.control:
        return 0
    with tempfile.TemporaryDirectory() as name:
        (Path(name) / "sitecustomize.py").write_text("import os\nos.fsync = lambda handle: None\n", "utf-8")
        os.environ["PYTHONPATH"] = name
        try:
            told, _said, _doctor = _on_a_disk(options.control, options)
        finally:
            del os.environ["PYTHONPATH"]
    return sum(
        told.faults[name] for name in ("lost photographs", "rows without file", "files with other bytes")
    )


def _section(table: str, seed: int) -> str:
    return f"""Made by `python -m tests.endurance.power_cuts` (seed {seed}; {made_with()}).
At a cut the ext4 file system, in a file of its own, forgets what had not reached the disk; only what was
acknowledged before counts. Then the journal is replayed, the database and the disk are read directly, and the
server goes on. A disk that lies about its cache is not covered. The lines in bold must be nought.

{table}"""


if __name__ == "__main__":
    raise SystemExit(main())
