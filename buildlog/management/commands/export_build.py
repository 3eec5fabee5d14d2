"""Save one build to a file that needs no program of ours to be read."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from buildlog.archive.build_export import save_build
from buildlog.archive.trouble import ArchiveTrouble
from buildlog.jobs.build_files import build_named
from buildlog.site.clock import now


class Command(BaseCommand):
    help = (
        "Save one build to a ZIP: build.json with every row, tables for a spreadsheet, photographs with their "
        "captions. With the originals of the photographs, unless it is to be given away."
    )

    def add_arguments(self, parser):
        parser.add_argument("build", metavar="BUILD", help="the build's name, or the uuid in its address")
        parser.add_argument("file", metavar="FILE.zip", type=Path, help="the file to write")
        parser.add_argument(
            "--to-give-away", action="store_true",
            help="with the published copies of the photographs only: no place, no camera in them",
        )  # fmt: skip

    def handle(self, *args, **options):
        build = self._build(options["build"])
        try:
            saved = save_build(
                build, options["file"].absolute(), originals=not options["to_give_away"], now=now(), say=self._say
            )
        except ArchiveTrouble as trouble:
            raise CommandError(str(trouble), returncode=2) from None
        except OSError as problem:
            raise CommandError(f"The build was not saved: {problem.strerror}.", returncode=1) from None
        told = f"{saved.rows} rows, {saved.photographs} photographs, {saved.size / 1024 / 1024:,.1f} MB"
        self.stdout.write(f"Saved {build.name}: {told}: {saved.path}")
        if saved.missing:
            raise CommandError(f"{len(saved.missing)} photographs had no file to save.", returncode=1)

    def _build(self, text):
        found = build_named(text)
        if not found:
            raise CommandError(f"build: there is no build “{text}” here.", returncode=2)
        if len(found) > 1:
            uuids = ", ".join(str(build.uuid) for build in found)
            many = f"build: {len(found)} builds are called {text}. Name one by its uuid: {uuids}"
            raise CommandError(many, returncode=2)
        return found[0]

    def _say(self, sentence):
        self.stdout.write(f"{sentence} ...")
