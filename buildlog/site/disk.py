"""Room on the disk: uploads stop while there is still room for words."""

import errno
import shutil
from pathlib import Path

from django.conf import settings
from django.db import OperationalError, connection

from . import log
from .errors import answer

LEAST_FREE_BYTES = 500 * 1024 * 1024


class DiskFull(Exception):
    """There is no room for a file. Raised before anything is written, or by a write that found no room."""


def free_bytes() -> int:
    return shutil.disk_usage(settings.DATA_DIR).free


def needed_bytes() -> int:
    """Return what must stay free: 500 MB, or twice the database, which a backup and a migration need."""
    return max(LEAST_FREE_BYTES, 2 * _database_bytes())


def free_enough() -> bool:
    return free_bytes() >= needed_bytes()


def require_room() -> None:
    """Raise DiskFull when a file should no longer be taken in; call it before the first byte is written."""
    if not free_enough():
        raise DiskFull


def _database_bytes() -> int:
    if connection.vendor != "sqlite":
        return 0
    path = Path(connection.settings_dict["NAME"])
    return sum(each.stat().st_size for each in (path, path.with_name(path.name + "-wal")) if each.exists())


class DiskFullAnswers:
    """Turn a full disk into 507 and a sentence, wherever it was met."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        return self.get_response(request)

    def process_exception(self, request, exception):
        if not is_disk_full(exception):
            return None
        log.note("upload refused", reason="disk full", free=free_bytes())
        return answer(request, 507)


def is_disk_full(exception: BaseException) -> bool:
    """Say whether an exception means that the disk had no room, whoever met it."""
    if isinstance(exception, OSError):
        return exception.errno in (errno.ENOSPC, errno.EDQUOT)
    if isinstance(exception, OperationalError):
        return "disk is full" in str(exception)
    return isinstance(exception, DiskFull)
