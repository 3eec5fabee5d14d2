"""Take away files that no row names. Deleting a row never deletes a file at once: the sweep does, a day
later.

So a backup that copied the rows first and the files second finds every file that its rows name, and a
photograph kept a moment before the server was killed has a day to be claimed by being sent again.
"""

import json
import os
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from buildlog.photos import store

WAIT_SECONDS = 24 * 60 * 60
_LIST = "orphans.json"


@dataclass(frozen=True)
class Swept:
    """What one sweep did."""

    deleted: int
    waiting: int


def sweep(is_named: Callable[[str], bool], *, now: float) -> Swept:
    """Delete files that no row has named for a day; `is_named(key)` asks the rows, `now` is in seconds.

    A file's day begins when a sweep first finds it unnamed, however old it is.
    """
    _delete_old_leavings(now)
    known = _read_list()
    seen: dict[str, float] = {}
    deleted = 0
    for key in all_keys():
        if is_named(key) or _is_fresh(store.path_of(key), now):
            continue
        since = known.get(key, now)
        if now - since >= WAIT_SECONDS and _delete_unless_wanted(key, is_named, now):
            deleted += 1
        else:
            seen[key] = since
    _write_list(seen)
    return Swept(deleted, len(seen))


def all_keys() -> Iterator[str]:
    """Give the key of every file that is kept."""
    for room in (store.ORIGINALS, store.RENDITIONS):
        for path in sorted((store.root() / room).glob("??/??/*")):
            key = path.relative_to(store.root()).as_posix()
            if store.KEY.fullmatch(key):
                yield key


def _is_fresh(path: Path, now: float) -> bool:
    try:
        return now - path.stat().st_mtime < WAIT_SECONDS
    except FileNotFoundError:
        return True


def _delete_unless_wanted(key: str, is_named: Callable[[str], bool], now: float) -> bool:
    """Move the file aside, ask once more, then delete it: the same picture may be sent again at this very
    moment.
    """
    path = store.path_of(key)
    aside = path.with_name(f"{path.name}{store.PART}")
    os.replace(path, aside)
    if _is_fresh(aside, now) or is_named(key):
        os.replace(aside, path)
        return False
    aside.unlink()
    return True


def _delete_old_leavings(now: float) -> None:
    """Delete what killed processes left: `.part` files and scratch folders of yesterday."""
    for part in store.root().rglob(f"*{store.PART}"):
        if not _is_fresh(part, now):
            part.unlink(missing_ok=True)
    for folder in (store.root() / "scratch").glob("*"):
        if not _is_fresh(folder, now):
            shutil.rmtree(folder, ignore_errors=True)


def _read_list() -> dict[str, float]:
    try:
        found = json.loads((store.root() / _LIST).read_text("utf-8"))
    except (FileNotFoundError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


def _write_list(seen: dict[str, float]) -> None:
    store.make_folder(store.root())
    part = store.root() / f"{_LIST}{store.PART}"
    part.write_text(json.dumps(seen, indent=0), "utf-8")
    os.replace(part, store.root() / _LIST)
