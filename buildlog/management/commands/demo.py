import shutil

from django.conf import settings
from django.core.management import call_command

from buildlog.actions.accounts import make_account
from buildlog.actions.one_time_links import Purpose, make_one_time_link
from buildlog.models import Account, Build
from buildlog.site import serving
from buildlog.site.addresses import one_time_address
from buildlog.site.clock import now

from . import serve

# The key keeps what it is, so that browsers signed in before --reset are told so and not confused.
KEPT = {"secret_key", "serving.lock"}
# The invented builder of the sample hull.
SAMPLE_BUILDER = "Tobin"


class Command(serve.Command):
    help = "Serve the sample hull, in data/demo; what you type there is kept until --reset."

    def add_arguments(self, parser):
        super().add_arguments(parser)
        parser.add_argument(
            "--reset", action="store_true", help="throw the sample's records away and start anew"
        )

    def prepare(self, options) -> None:
        if options["reset"]:
            empty_demo_folder()
            self.say("The sample starts anew.")

    def fill(self, options) -> None:
        if not Build.objects.exists():
            self.say("Loading the sample hull ...")
            account = Account.objects.first() or make_account(SAMPLE_BUILDER)
            call_command("load_sample", account.sign_in_name, stdout=self.stdout)

    def tell(self, place: serving.Place, options) -> str:
        account = Account.objects.filter(is_active=True).order_by("pk").first()
        self.say(f"Strake Reckoner, the sample hull: {place.here}/   (Ctrl-C stops it)")
        self.say(f"What you type is kept in {settings.DATA_DIR}; start with --reset to begin anew.")
        _, token = make_one_time_link(Purpose.SIGN_IN, now=now(), account=account)
        address = one_time_address(place.here, token)
        self.say(f"This link signs you in as {account.sign_in_name}; it works once:")
        self.say(f"  {address}")
        if place.for_phones:
            self.tell_phone(place)
        return address


def empty_demo_folder() -> None:
    """Empty the sample's own folder; `manage.py demo` has made sure that DATA_DIR is it and nothing else."""
    if settings.DATA_DIR.name != "demo":
        raise RuntimeError("demo --reset was started outside manage.py demo")
    for each in settings.DATA_DIR.iterdir():
        if each.name in KEPT:
            continue
        if each.is_dir() and not each.is_symlink():
            shutil.rmtree(each)
        else:
            each.unlink()
