"""One server for each data folder: a second one would run a second worker over the same photographs."""

import errno
import os
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
