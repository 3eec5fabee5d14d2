from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.db import connection, transaction

from buildlog.actions.accounts import make_account
from buildlog.actions.one_time_links import make_one_time_link
from buildlog.models import Account, OneTimeLink, folded
from buildlog.site.addresses import one_time_address
from buildlog.site.clock import now

Purpose = OneTimeLink.Purpose


class Command(BaseCommand):
    help = (
        "Make an account, or a link that lets its person in again. The link works once; no mail is needed. "
        "The first account, and one made with --owner, may start builds."
    )

    def add_arguments(self, parser):
        parser.add_argument("name", metavar="NAME", help="the name to sign in with")
        parser.add_argument("--reset-link", action="store_true", help="a link to choose a new password")
        parser.add_argument("--owner", action="store_true", help="let this account start builds of its own")

    def handle(self, *args, **options):
        if Account._meta.db_table not in connection.introspection.table_names():
            raise CommandError("This log has no records yet: start it once, with python3 manage.py serve")
        with transaction.atomic():
            account, is_new = self._account(options["name"], options["owner"], options["reset_link"])
            # A new account has no password yet, so its first link leads to choosing one.
            purpose = Purpose.RESET if is_new or options["reset_link"] else Purpose.SIGN_IN
            link, token = make_one_time_link(purpose, now=now(), account=account)
        what = "choose a password for" if purpose == Purpose.RESET else "sign in as"
        until = f"{link.expires_at:%Y-%m-%d %H:%M} UTC"
        self.stdout.write(f"A link to {what} {account.sign_in_name}; it works once, until {until}:")
        self.stdout.write(f"  {one_time_address(settings.SITE_URL, token)}")

    def _account(self, name: str, owner: bool, reset: bool) -> tuple[Account, bool]:
        # No account has such a name, and PostgreSQL refuses even to look for one with a NUL in it.
        known = (
            Account.objects.filter(sign_in_folded=folded(name))
            if name.isprintable()
            else Account.objects.none()
        )
        account = known.first()
        if account is None and reset:
            raise CommandError(
                f"There is no account named {name!r}. Without --reset-link one is made.", returncode=2
            )
        if account is not None and not account.is_active:
            raise CommandError(f"The account {account.sign_in_name} is closed.", returncode=2)
        if account is None:
            return self._make(name, owner), True
        if owner and not account.may_start_builds:
            account.may_start_builds = True
            account.save(update_fields=["may_start_builds"])
        return account, False

    def _make(self, name: str, owner: bool) -> Account:
        try:
            return make_account(name, may_start_builds=owner or not Account.objects.exists())
        except ValidationError as problem:
            raise CommandError(" ".join(problem.messages), returncode=2) from None
