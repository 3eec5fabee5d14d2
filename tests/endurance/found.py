"""What is there after the kills, read straight from the database and the disk, not through the pages."""

import contextlib
import hashlib
import sqlite3
import uuid
from dataclasses import dataclass
from pathlib import Path

from tests.endurance.writers import Acknowledged


@dataclass(frozen=True)
class Found:
    """The count of everything that must be nought, and of what may be there."""

    readings: int
    photos: int
    lost_readings: int
    lost_photos: int
    twice: int
    rows_without_file: int
    files_with_other_bytes: int
    integrity: str
    loose_rows: int
    not_ready: int
    failed_jobs: int
    orphans: int
    parts: int

    @property
    def faults(self) -> dict[str, object]:
        """Everything that breaks a promise."""
        numbers = {
            "lost readings": self.lost_readings,
            "lost photographs": self.lost_photos,
            "rows twice": self.twice,
            "rows without file": self.rows_without_file,
            "files with other bytes": self.files_with_other_bytes,
            "loose rows": self.loose_rows,
            "photographs not ready": self.not_ready,
            "failed jobs": self.failed_jobs,
        }
        faults: dict[str, object] = {name: count for name, count in numbers.items() if count}
        return faults if self.integrity == "ok" else faults | {"integrity": self.integrity}


def look(data: Path, said: Acknowledged) -> Found:
    """Compare what was acknowledged with what is there."""
    with contextlib.closing(sqlite3.connect(data / "reckoner.sqlite3")) as database:
        ask = lambda question: database.execute(question).fetchall()  # noqa: E731
        readings = {_name(c): (_name(u), typed) for c, u, typed in ask(_READINGS)}
        photos = {_name(c): (_name(u), sha256) for c, u, sha256 in ask(_PHOTOS)}
        files = {f"originals/{s[:2]}/{s[2:4]}/{s}": s for (s,) in ask("SELECT sha256 FROM buildlog_photo")}
        files |= dict(ask("SELECT key, sha256 FROM buildlog_photorendition"))
        on_disk = {
            path.relative_to(data / "photos").as_posix()
            for path in (data / "photos").rglob("*")
            if path.is_file()
        }
        return Found(
            readings=len(readings),
            photos=len(photos),
            lost_readings=_lost(said.readings, readings),
            lost_photos=_lost(said.photos, photos),
            twice=sum(count - 1 for (count,) in ask(_TWICE)) + len(said.two_names),
            rows_without_file=len(files.keys() - on_disk),
            files_with_other_bytes=sum(_digest(data, key) != files[key] for key in files.keys() & on_disk),
            integrity=ask("PRAGMA integrity_check")[0][0],
            loose_rows=len(ask("PRAGMA foreign_key_check")),
            not_ready=ask("SELECT COUNT(*) FROM buildlog_photo WHERE state <> 'ready'")[0][0],
            failed_jobs=ask("SELECT COUNT(*) FROM buildlog_job WHERE state = 'failed'")[0][0],
            orphans=len([key for key in on_disk - files.keys() if key[:10] in ("originals/", "renditions")]),
            parts=sum(key.endswith(".part") for key in on_disk),
        )


_READINGS = "SELECT client_uuid, uuid, typed FROM buildlog_reading"
_PHOTOS = "SELECT client_uuid, uuid, sha256 FROM buildlog_photo"
_TWICE = (
    "SELECT COUNT(*) FROM buildlog_reading GROUP BY client_uuid HAVING COUNT(*) > 1 "
    "UNION ALL SELECT COUNT(*) FROM buildlog_photo GROUP BY client_uuid HAVING COUNT(*) > 1"
)


def _name(text: str) -> str:
    return str(uuid.UUID(text))


def _lost(said: dict, there: dict) -> int:
    """Count what was acknowledged and is not there under the same name with the same content."""
    return sum(there.get(name) != row_and_content for name, row_and_content in said.items())


def _digest(data: Path, key: str) -> str:
    return hashlib.sha256((data / "photos" / key).read_bytes()).hexdigest()
