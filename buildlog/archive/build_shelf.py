"""Files of builds on the server: those saved to be carried away, and those sent in that wait for the worker."""

import os
import re
import secrets
import shutil
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings

from buildlog.models import Build
from buildlog.photos import store
from buildlog.site.disk import require_room

KEPT_DAYS = 7
_SENT_IN = "sent-in-"
_STEP = 1 << 20


def folder() -> Path:
    path = Path(settings.DATA_DIR) / "build_files"
    path.mkdir(mode=0o700, parents=True, exist_ok=True)
    return path


def new_file(build: Build, now: datetime) -> Path:
    """Return where to save a build: a name that says which and when, and that no other file has."""
    word = re.sub(r"[^A-Za-z0-9]+", "-", build.name).strip("-")[:40] or "build"
    return folder() / f"{word}-{now:%Y-%m-%d}-{secrets.token_hex(4)}.zip"


def file_of(name: str) -> Path | None:
    """Return a file that lies here by its name, or None where it was let go."""
    path = folder() / Path(name).name
    return path if name and path.is_file() else None


def keep_sent_in(upload) -> Path:
    """Keep a file that was sent in, synced, until the worker has taken it."""
    require_room()
    path = folder() / f"{_SENT_IN}{secrets.token_hex(16)}.zip"
    try:
        with path.open("xb") as out:
            os.chmod(path, 0o600)
            for step in upload.chunks(_STEP):
                out.write(step)
            out.flush()
            os.fsync(out.fileno())
        store.sync_folder(path.parent)
    except BaseException:
        path.unlink(missing_ok=True)
        raise
    return path


def let_go(name: str) -> None:
    if path := file_of(name):
        path.unlink(missing_ok=True)


def clear_old(now: datetime) -> int:
    """Take away what has lain here for a week, also what a killed worker left; return how many."""
    before, gone = (now - timedelta(days=KEPT_DAYS)).timestamp(), 0
    for path in folder().iterdir():
        if path.stat().st_mtime < before:
            shutil.rmtree(path, ignore_errors=True) if path.is_dir() else path.unlink(missing_ok=True)
            gone += 1
    return gone
