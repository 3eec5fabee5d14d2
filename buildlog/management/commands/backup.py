from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from buildlog.archive.backup import make_backup
from buildlog.archive.trouble import ArchiveTrouble
from buildlog.site.clock import now


class Command(BaseCommand):
    help = (
        "Back up every row, every photograph and the link key into one file, while the server may run. "
        "The file is restored into a scratch folder, opened and counted before this says OK."
    )
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument(
            "file", metavar="FILE", type=Path, help="the backup to write, such as log-2026-03.zip"
        )

    def handle(self, *args, **options):
        try:
            report = make_backup(options["file"].absolute(), now=now(), say=self._say)
        except ArchiveTrouble as trouble:
            raise CommandError(str(trouble), returncode=2) from None
        except OSError as problem:
            raise CommandError(f"The backup was not made: {problem.strerror}.", returncode=1) from None
        told = f"{report.rows} rows, {report.photographs} photographs, {report.size / 1024 / 1024:,.1f} MB"
        if report.missing:
            raise CommandError(
                f"The backup was made and verified ({told}), but {len(report.missing)} files were missing "
                f"or damaged before it began, the first {report.missing[0]}. "
                "manage.py doctor --files lists them.",
                returncode=1,
            )
        self.stdout.write(f"OK: {told}, restored into a scratch folder, opened and counted: {report.path}")

    def _say(self, sentence):
        self.stdout.write(f"{sentence} ...")
        self.stdout.flush()
