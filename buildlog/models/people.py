"""People of a build, and what an account may do with it."""

from django.db import models

from .accounts import Account
from .builds import Build
from .rows import EditedRow, Row


class Person(EditedRow):
    """A name in a build. Readings point at persons, never at accounts."""

    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="people")
    account = models.ForeignKey(Account, null=True, blank=True, on_delete=models.SET_NULL, related_name="people")
    display_name = models.CharField(max_length=80)
    pen_name = models.CharField(max_length=80, blank=True)
    # Leave to show the name on the club page; may be taken back at any time.
    name_consent = models.BooleanField(default=False)

    class Meta:
        ordering = ["pk"]
        constraints = [models.UniqueConstraint(fields=["build", "account"], name="person_once_a_build")]

    def __str__(self):
        return self.display_name

    @property
    def shown_name(self) -> str:
        """The name a club page may show: the pen name, the name by leave, or none."""
        return self.pen_name or (self.display_name if self.name_consent else "")


class Membership(Row):
    class Role(models.TextChoices):
        OWNER = "owner"
        BUILDER = "builder"
        HELPER = "helper"
        READER = "reader"

    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="memberships")
    account = models.ForeignKey(Account, on_delete=models.CASCADE, related_name="memberships")
    role = models.CharField(max_length=8, choices=Role)
    since = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["build", "account"], name="membership_once"),
            models.CheckConstraint(
                name="membership_role_known",
                condition=models.Q(role__in=["owner", "builder", "helper", "reader"]),
            ),
        ]
