"""Clubs, their members, and the builds a club may show."""

from django.db import models

from .accounts import Account
from .builds import Build
from .rows import EditedRow, Row


class Club(EditedRow):
    name = models.CharField(max_length=120)
    meets = models.CharField(max_length=200, blank=True)
    created_at = models.DateTimeField()

    def __str__(self):
        return self.name


class ClubMember(Row):
    class Role(models.TextChoices):
        SECRETARY = "secretary"
        MODERATOR = "moderator"

    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="members")
    account = models.ForeignKey(Account, on_delete=models.CASCADE)
    role = models.CharField(max_length=9, choices=Role)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["club", "account"], name="club_member_once")]


class ClubYard(Row):
    """A build that a club may show, by the owner's leave."""

    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="yard")
    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="clubs")
    leave = models.BooleanField(default=False)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["club", "build"], name="club_yard_once")]
