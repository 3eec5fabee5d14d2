"""Prove a backup: every byte as written, laid out in a scratch folder, opened, and counted."""

import tempfile
from collections.abc import Callable
from pathlib import Path

from buildlog.archive import opened, room, schema
from buildlog.archive.bundle import Reader, check_seal
from buildlog.archive.manifest import Manifest
from buildlog.archive.trouble import Damaged

Say = Callable[[str], None]


def verify(path: Path, say: Say, *, scratch_in: Path | None = None) -> Manifest:
    """Return the manifest of a backup that can be restored, or raise ArchiveTrouble with the reason."""
    if not path.is_file():
        raise Damaged(f"{path} is not a file.")
    say("Reading every byte")
    check_seal(path)
    with Reader(path) as reader:
        schema.refuse_newer(reader.manifest.migrations)
        place = scratch_in or path.parent
        room.require(place, reader.manifest.size)
        with tempfile.TemporaryDirectory(dir=place, prefix=".verifying-") as name:
            folder = Path(name)
            say("Restoring it into a scratch folder")
            reader.copy_all_out(folder, say)
            say("Opening it and counting the rows")
            with opened.database_of(folder, reader.manifest) as alias:
                opened.look_through(alias, reader.manifest)
        return reader.manifest
