"""One server for each data folder: a second one would run a second worker over the same photographs."""

import errno
import os
import time
from contextlib import contextmanager
from pathlib import Path

from django.core.management.base import CommandError


@contextmanager
def only_server(folder: Path):
    """Hold the folder while the server runs; the system lets go when the process ends, however it ends."""
    path = folder / "serving.lock"
    with path.open("a+b") as file:
        if not _lock(file):
            raise CommandError(f"The log in {folder} is being served already. Stop that server first.")
        yield


@contextmanager
def one_at_a_time(path: Path):
    """Wait until no other process holds the lock of that name, and hold it meanwhile."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("a+b") as file:
        while not _lock(file):
            time.sleep(0.05)
        yield


def _lock(file) -> bool:
    try:
        if os.name == "nt":
            import msvcrt

            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as problem:
        if problem.errno in (errno.EACCES, errno.EAGAIN, errno.EDEADLK):
            return False
        raise
    return True
