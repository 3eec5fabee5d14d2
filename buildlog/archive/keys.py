"""Keys that lie in the data folder and not in the database: without them restored share links would not
open.
"""

import os
from pathlib import Path

from django.conf import settings

# The key of the share links. The secret key of the sessions is left out: a restored log makes a new one.
NAMES = ("link_key",)


def present() -> dict[str, Path]:
    """Return the keys that are there, by their name in a backup."""
    paths = {f"keys/{name}": Path(settings.DATA_DIR) / name for name in NAMES}
    return {name: path for name, path in paths.items() if path.is_file()}


def put_back(folder: Path) -> None:
    """Lay the keys of an opened backup into the data folder, readable by its owner alone."""
    for name in NAMES:
        source, target = folder / "keys" / name, Path(settings.DATA_DIR) / name
        if source.is_file():
            draft = target.with_name(f"{name}.part")
            draft.write_bytes(source.read_bytes())
            os.chmod(draft, 0o600)
            os.replace(draft, target)
