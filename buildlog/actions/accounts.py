"""Accounts: made on the machine itself, by a first-owner link, or by an invitation."""

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from buildlog.models import Account, folded


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
