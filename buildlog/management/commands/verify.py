import os
import tempfile
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from buildlog.archive.trouble import ArchiveTrouble
from buildlog.archive.verify import verify


def _scratch(path: Path) -> Path:
    """Return a folder with room: the backup's own, or the system's where that one is read only."""
    return (
        path.absolute().parent if os.access(path.absolute().parent, os.W_OK) else Path(tempfile.gettempdir())
    )


class Command(BaseCommand):
    help = "Prove a backup: read every byte, restore it into a scratch folder, open it and count its rows."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("file", metavar="FILE", type=Path, help="a backup that `backup` wrote")

    def handle(self, *args, **options):
        try:
            manifest = verify(options["file"].absolute(), self._say, scratch_in=_scratch(options["file"]))
        except ArchiveTrouble as trouble:
            raise CommandError(str(trouble), returncode=2) from None
        except OSError as problem:
            raise CommandError(f"The backup was not read: {problem.strerror}.", returncode=1) from None
        self.stdout.write(
            f"OK: made {manifest.made_at[:16].replace('T', ' ')} UTC, {manifest.rows} rows, "
            f"{manifest.photographs} photographs; every byte as written."
        )

    def _say(self, sentence):
        self.stdout.write(f"{sentence} ...")
        self.stdout.flush()
