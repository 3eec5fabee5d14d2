"""Backups that the server makes by itself or by a button: where they lie, and how many are kept."""

import shutil
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from django.conf import settings

from buildlog.archive import database
from buildlog.archive.backup import Report, make_backup
from buildlog.site import clock

KEPT = 3
_ASKED_FOR, _BEFORE_CHANGE = "backup", "before-upgrade"


def folder() -> Path:
    return Path(settings.DATA_DIR) / "backups"


def back_up_before_migration(say: Callable[[str], None]) -> Path | None:
    """Make the verified backup that a change of the tables stands on; None for a log with nothing in it."""
    tables = database.count_rows("default")
    if not tables.get("buildlog_account"):
        return None
    report = make_kept_backup(_BEFORE_CHANGE, now=clock.now(), say=say)
    say(f"Backup made and verified: {report.path}")
    return report.path


def make_kept_backup(word: str, *, now: datetime, say: Callable[[str], None]) -> Report:
    """Make a backup in the data folder and let the oldest of its sort go."""
    folder().mkdir(mode=0o700, parents=True, exist_ok=True)
    _clear_broken_off(now)
    report = make_backup(folder() / f"{word}-{now:%Y%m%d-%H%M%S-%f}.zip", now=now, say=say)
    for old in sorted(folder().glob(f"{word}-*.zip"))[:-KEPT]:
        old.unlink(missing_ok=True)
    return report


def _clear_broken_off(now: datetime) -> None:
    """Take away what a server that was killed in the middle of a backup left here a day ago or more."""
    for left in folder().glob(".*"):
        if left.is_dir() and now.timestamp() - left.stat().st_mtime > 24 * 60 * 60:
            shutil.rmtree(left, ignore_errors=True)


def make_asked_backup(*, now: datetime, say: Callable[[str], None]) -> Report:
    return make_kept_backup(_ASKED_FOR, now=now, say=say)


def file_of(name: str) -> Path | None:
    """Return a kept backup by its file name, or None where it was let go."""
    path = folder() / Path(name).name
    return path if name and path.is_file() else None
