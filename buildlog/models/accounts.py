"""Accounts: who may sign in. A person of a build is another thing (see people.py)."""

import unicodedata

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models

from .rows import Row


def folded(name: str) -> str:
    """Return the form of a sign-in name under which two spellings are the same name."""
    return unicodedata.normalize("NFKC", name).strip().casefold()


class AccountManager(BaseUserManager):
    def create_account(self, sign_in_name, password=None, **fields):
        account = self.model(sign_in_name=sign_in_name.strip(), **fields)
        account.set_password(password)
        account.save()
        return account

    def get_by_natural_key(self, username):
        return self.get(sign_in_folded=folded(username))


class Account(AbstractBaseUser, Row):
    class Theme(models.TextChoices):
        SYSTEM = ""
        LIGHT = "light"
        DARK = "dark"

    sign_in_name = models.CharField(max_length=80, unique=True)
    sign_in_folded = models.CharField(max_length=160, unique=True, editable=False)
    is_active = models.BooleanField(default=True)
    may_start_builds = models.BooleanField(default=True)
    theme = models.CharField(max_length=8, choices=Theme, default=Theme.SYSTEM, blank=True)
    last_build = models.ForeignKey(
        "buildlog.Build", null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    created_at = models.DateTimeField(auto_now_add=True)

    USERNAME_FIELD = "sign_in_name"
    objects = AccountManager()

    def save(self, *args, **kwargs):
        self.sign_in_folded = folded(self.sign_in_name)
        super().save(*args, **kwargs)

    def __str__(self):
        return self.sign_in_name


class OneTimeLink(Row):
    """A link that works once: first owner, sign-in, password reset, or an invitation to a build.

    The row keeps only the SHA-256 of the token.
    """

    class Purpose(models.TextChoices):
        FIRST_OWNER = "first_owner"
        SIGN_IN = "sign_in"
        RESET = "reset"
        INVITE = "invite"

    purpose = models.CharField(max_length=12, choices=Purpose)
    token_sha256 = models.CharField(max_length=64, unique=True)
    account = models.ForeignKey(Account, null=True, blank=True, on_delete=models.CASCADE)
    build = models.ForeignKey("buildlog.Build", null=True, blank=True, on_delete=models.CASCADE)
    role = models.CharField(max_length=8, blank=True)
    for_name = models.CharField(max_length=80, blank=True)
    made_by = models.ForeignKey(Account, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)


class SignedInPhone(Row):
    """One signed-in browser of an account, listed in Shed and ended from there."""

    account = models.ForeignKey(Account, on_delete=models.CASCADE, related_name="phones")
    session_key = models.CharField(max_length=40, unique=True)
    label = models.CharField(max_length=120)
    signed_in_at = models.DateTimeField()
    last_seen_at = models.DateTimeField()


class Throttle(models.Model):
    """A token bucket, shared by all workers. The key is a digest, never a name or an address in the clear."""

    key = models.CharField(max_length=64, unique=True)
    tokens = models.FloatField()
    at = models.DateTimeField()
