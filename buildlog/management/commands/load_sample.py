"""Load the sample hull for an account, as it stands before the recut or whole."""

from django.core.management.base import BaseCommand, CommandError

from buildlog.actions.links import make_link
from buildlog.jobs.worker import run_pending
from buildlog.models import Account, folded
from buildlog.sample.story import BEFORE_THE_RECUT, THE_END, tell_story
from buildlog.site import clock


class Command(BaseCommand):
    help = "Load the sample hull, an invented brig, for an account."

    def add_arguments(self, parser):
        parser.add_argument("account", help="sign-in name of the account that owns it")
        parser.add_argument("--whole", action="store_true", help="with the recut and everything after it")
        parser.add_argument("--name", default="Orlawen", help="what the build is called")

    def handle(self, *, account, whole, name, **options):
        owner = Account.objects.filter(sign_in_folded=folded(account)).first()
        if owner is None:
            raise CommandError(f"account: nobody signs in as {account}.", returncode=2)
        build = tell_story(owner, until=THE_END if whole else BEFORE_THE_RECUT, name=name, pictures=True)
        make_link(build, name="Nettlebank Planking Circle", person=build.people.first(), now=clock.now())
        waiting = build.photos.count()
        run_pending(lambda done: self.tell(done, waiting))
        self.stdout.write(f"{build.name} is loaded: {build.sessions.count()} sessions, {waiting} photographs.")

    def tell(self, done, waiting):
        """Say how far the photographs are; jobs of other builds that were waiting too are not counted."""
        if done <= waiting:
            self.stdout.write(f"Photograph {done} of {waiting} is ready.")
