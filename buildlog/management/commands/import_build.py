"""Take a build in from a file, as a new build of one account."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from buildlog.archive.trouble import ArchiveTrouble
from buildlog.jobs.build_files import take_in_for
from buildlog.jobs.worker import run_pending
from buildlog.models import Account, folded


class Command(BaseCommand):
    help = "Take in a build that `export_build` saved. It becomes a new build, owned by one account."

    def add_arguments(self, parser):
        parser.add_argument("file", metavar="FILE.zip", type=Path, help="a saved build")
        parser.add_argument("account", nargs="?", help="who will own it; may be left out where there is one account")
        parser.add_argument("--as-person", default="", help="which person of the build the account is")
        parser.add_argument("--as-copy", action="store_true", help="also where the same build is here already")

    def handle(self, *args, **options):
        account = self._account(options["account"])
        try:
            taken = take_in_for(
                account, options["file"].absolute(), as_copy=options["as_copy"], name=options["as_person"].strip()[:80],
                say=self._say,
            )  # fmt: skip
        except ArchiveTrouble as trouble:
            raise CommandError(str(trouble), returncode=2) from None
        except OSError as problem:
            raise CommandError(f"The build was not taken in: {problem.strerror}.", returncode=1) from None
        for name, why in taken.refused:
            self.stdout.write(f"Not taken: {name}: {why}")
        run_pending()
        self.stdout.write(
            f"{taken.build.name} is here, owned by {account.sign_in_name}: {taken.rows} rows, "
            f"{len(taken.photographs)} photographs; {len(taken.refused)} photographs were not taken."
        )

    def _account(self, name):
        found = Account.objects.filter(sign_in_folded=folded(name)) if name else Account.objects.all()[:2]
        if len(found) == 1:
            return found[0]
        if name:
            raise CommandError(f"account: nobody signs in as {name}.", returncode=2)
        raise CommandError("account: say who will own the build; several people sign in here, or none.", returncode=2)

    def _say(self, sentence):
        self.stdout.write(f"{sentence} ...")
