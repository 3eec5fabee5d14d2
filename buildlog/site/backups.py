"""When the records were last backed up and the backup proved: a small file in the data folder.

It lies beside the database and not in it, so that restoring an old backup does not also restore an old date.
"""

import json
import os
from datetime import datetime
from pathlib import Path

from django.conf import settings

NAME = "last_backup.json"


def last_verified_at() -> datetime | None:
    """Return when the last backup was verified, or None."""
    try:
        said = json.loads(_path().read_text("utf-8"))
        moment = datetime.fromisoformat(said["verified_at"])
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return moment if moment.tzinfo else None


def remember_verified(file: Path, now: datetime) -> None:
    """Write down that this backup was made, opened again, and counted."""
    draft = _path().with_suffix(".part")
    draft.write_text(json.dumps({"verified_at": now.isoformat(), "file": str(file)}), "utf-8")
    os.replace(draft, _path())


def _path() -> Path:
    return Path(settings.DATA_DIR) / NAME
