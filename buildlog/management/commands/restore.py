from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from buildlog.archive.restore import restore
from buildlog.archive.trouble import ArchiveTrouble
from buildlog.site.one_server import only_server


class Command(BaseCommand):
    help = (
        "Restore a backup into an empty data folder (DATA_DIR) and an empty database, "
        "with the server stopped. A backup of an older version is brought to this one; "
        "one of a newer version is refused."
    )
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("file", metavar="FILE", type=Path, help="a backup that `backup` wrote")

    def handle(self, *args, **options):
        try:
            with only_server(Path(settings.DATA_DIR)):
                manifest = restore(options["file"].absolute(), self._say)
        except ArchiveTrouble as trouble:
            raise CommandError(str(trouble), returncode=2) from None
        except OSError as problem:
            raise CommandError(f"The restore was broken off: {problem.strerror}.", returncode=1) from None
        self.stdout.write(
            f"OK: {manifest.rows} rows and {manifest.photographs} photographs restored "
            f"into {settings.DATA_DIR}. People sign in again."
        )

    def _say(self, sentence):
        self.stdout.write(f"{sentence} ...")
        self.stdout.flush()
