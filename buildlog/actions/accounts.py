"""Accounts: made on the machine itself, by a first-owner link, or by an invitation."""

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from buildlog.models import Account, Membership, OneTimeLink, Person, SignedInPhone, folded

from .events import tell_event
from .one_time_links import use_one_time_link


def checked_sign_in_name(name: str) -> str:
    """Return a name that can be typed again on another keyboard, or raise ValidationError with the reason."""
    name = " ".join(name.split())
    if not folded(name):
        raise ValidationError(_("Name: write the name to sign in with."))
    if len(name) > 80 or len(folded(name)) > 160:
        raise ValidationError(_("Name: 80 characters at most."))
    if not name.isprintable():
        raise ValidationError(_("Name: it holds a character that cannot be seen. Type it anew."))
    if Account.objects.filter(sign_in_folded=folded(name)).exists():
        raise ValidationError(_("Name: there is an account of this name already."))
    return name


def make_account(sign_in_name: str, password: str | None = None, *, may_start_builds: bool = True) -> Account:
    """Return a new account; without a password only a one-time link opens it."""
    name = checked_sign_in_name(sign_in_name)
    return Account.objects.create_account(name, password, may_start_builds=may_start_builds)


class LinkSpent(Exception):
    """A one-time link was used by somebody else, ran out or was withdrawn between the page and the button."""


def _use(link, now):
    if not use_one_time_link(link, now=now):
        raise LinkSpent


@transaction.atomic
def make_first_owner(link: OneTimeLink, sign_in_name: str, password: str | None, *, now) -> Account:
    """Use a first-owner link: make the account of whoever owns this log."""
    _use(link, now)
    return make_account(sign_in_name, password or None)


@transaction.atomic
def sign_in_by_link(link: OneTimeLink, *, now) -> Account:
    """Use a sign-in link; return the account it signs in."""
    _use(link, now)
    return link.account


@transaction.atomic
def reset_password(link: OneTimeLink, password: str, *, now) -> Account:
    """Use a reset link: set a new password. Whoever was signed in before is signed out."""
    _use(link, now)
    set_password(link.account, password)
    return link.account


@transaction.atomic
def accept_invitation(link: OneTimeLink, account: Account, *, now) -> Membership:
    """Use an invitation: let an account into the build. Whoever is in already keeps their role."""
    _use(link, now)
    membership, joined = Membership.objects.get_or_create(
        build=link.build, account=account, defaults={"role": link.role, "since": now}
    )
    person, _made = Person.objects.get_or_create(
        build=link.build, account=account, defaults={"display_name": link.for_name or account.sign_in_name}
    )
    account.last_build = link.build
    account.save(update_fields=["last_build"])
    if joined:
        tell_event("joined", membership, build=link.build, now=now, person=person, account=account)
    return membership


@transaction.atomic
def accept_invitation_with_new_account(link, sign_in_name, password, *, now) -> Account:
    """Use an invitation and make the account that it is for. A guest starts no builds of their own."""
    account = make_account(sign_in_name, password or None, may_start_builds=False)
    accept_invitation(link, account, now=now)
    return account


def set_password(account: Account, password: str) -> None:
    account.set_password(password)
    account.save(update_fields=["password"])


def rename_account(account: Account, sign_in_name: str) -> None:
    """Give an account another name to sign in with; names of people in builds stay as they are."""
    if folded(sign_in_name) != account.sign_in_folded:
        sign_in_name = checked_sign_in_name(sign_in_name)
    account.sign_in_name = " ".join(sign_in_name.split())
    account.save(update_fields=["sign_in_name", "sign_in_folded"])


def choose_theme(account: Account, theme: str) -> None:
    account.theme = theme
    account.save(update_fields=["theme"])


def remember_phone(account: Account, session_key: str, label: str, *, now) -> SignedInPhone:
    """Write down a browser that signed in, so that Shed can list it and end it."""
    phone, _made = SignedInPhone.objects.update_or_create(
        session_key=session_key,
        defaults={"account": account, "label": label[:120], "signed_in_at": now, "last_seen_at": now},
    )
    return phone


def forget_phone(session_key: str) -> None:
    SignedInPhone.objects.filter(session_key=session_key).delete()


def open_build(account: Account, build) -> None:
    """Remember which build an account looked at last, so that the front page leads there."""
    if account.last_build_id != build.pk:
        Account.objects.filter(pk=account.pk).update(last_build=build)
