from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from buildlog.actions.one_time_links import Purpose, make_first_owner_link, make_one_time_link
from buildlog.models import Account
from buildlog.site import serving
from buildlog.site.addresses import one_time_address, print_code
from buildlog.site.clock import now


class Command(BaseCommand):
    help = "Serve one's own log on this machine; with --lan, to the phones of the house as well."
    # serving.make_ready runs the checks, after the tables they ask about are there.
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("--port", type=int, default=8000, help="the port to answer on (8000)")
        parser.add_argument(
            "--lan", action="store_true", help="answer the other machines of this network too"
        )
        parser.add_argument("--no-browser", action="store_true", help="do not open a browser")

    def handle(self, *args, **options):
        if not 0 < options["port"] < 65536:
            raise CommandError("--port: a number from 1 to 65535.", returncode=2)
        place = serving.choose_place(options["port"], options["lan"])
        with serving.stopping_cleanly(self.say), serving.sole_server():
            self.prepare(options)
            serving.make_ready(self.say)
            self.fill(options)
            serving.run(place, lambda: self.tell(place, options), show=not options["no_browser"])

    def say(self, text: str) -> None:
        self.stdout.write(text)
        self.stdout.flush()

    def prepare(self, options) -> None:
        """Do what comes before the records are opened."""

    def fill(self, options) -> None:
        """Do what comes once the tables are there."""

    def tell(self, place: serving.Place, options) -> str:
        """Say where the log is and how to get in; return the address for this machine's browser."""
        self.say(f"Strake Reckoner: {place.here}/   (Ctrl-C stops it)")
        self.say(f"The records are in {settings.DATA_DIR}")
        if not Account.objects.exists():
            link, token = make_first_owner_link(now=now())
            self.say(f"First start. This link makes your account; it works once, until {_until(link)}:")
            self._show(place, token)
            return one_time_address(place.here, token)
        if place.for_phones:
            self.tell_phone(place)
        return place.here + "/"

    def tell_phone(self, place: serving.Place) -> None:
        """Sign a phone in as the account that was made first: whoever starts the server owns the machine."""
        account = Account.objects.filter(is_active=True).order_by("pk").first()
        if account is None:
            return
        for address in place.addresses[1:]:
            self.say(f"From the other machines of this network: {address}/")
        link, token = make_one_time_link(Purpose.SIGN_IN, now=now(), account=account)
        self.say(
            f"This link signs a phone in as {account.sign_in_name}; it works once, until {_until(link)}:"
        )
        self._show(place, token)

    def _show(self, place: serving.Place, token: str) -> None:
        address = one_time_address(place.for_phones or place.here, token)
        self.say(f"  {address}")
        if place.for_phones:
            print_code(address)


def _until(link) -> str:
    return f"{link.expires_at:%Y-%m-%d %H:%M} UTC"
