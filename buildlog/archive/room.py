"""Room on a disk for a copy of everything."""

import shutil
from pathlib import Path

from buildlog.archive.trouble import ArchiveTrouble

_SPARE = 50 * 1024 * 1024


def require(folder: Path, size: int) -> None:
    """Raise ArchiveTrouble unless `size` bytes fit beside what must stay free."""
    free = shutil.disk_usage(folder).free
    if free < size + _SPARE:
        raise ArchiveTrouble(
            f"There is too little room in {folder}: {_shown(size + _SPARE)} are needed and {_shown(free)} are free."
        )


def _shown(size: int) -> str:
    return f"{size / 1024 / 1024:,.0f} MB"
