"""Long work for the one worker, stored reviews, hidden warnings, and who changed what."""

from django.db import models

from .accounts import Account
from .builds import Build
from .openings import Opening
from .people import Person
from .rows import Row


class Job(Row):
    class State(models.TextChoices):
        QUEUED = "queued"
        RUNNING = "running"
        DONE = "done"
        FAILED = "failed"

    kind = models.CharField(max_length=20)
    state = models.CharField(max_length=7, choices=State, default=State.QUEUED)
    build = models.ForeignKey(Build, null=True, blank=True, on_delete=models.PROTECT, related_name="jobs")
    account = models.ForeignKey(Account, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    payload = models.JSONField(default=dict)
    progress = models.CharField(max_length=200, blank=True)
    result = models.JSONField(default=dict, blank=True)
    tries = models.PositiveSmallIntegerField(default=0)
    claimed_by = models.CharField(max_length=80, blank=True)
    claimed_at = models.DateTimeField(null=True, blank=True)
    made_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        indexes = [models.Index(fields=["state", "kind"])]


class Review(models.Model):
    """What the arithmetic said of an opening at one serial; thrown away and made again at will."""

    opening = models.ForeignKey(Opening, on_delete=models.CASCADE, related_name="reviews")
    serial = models.PositiveBigIntegerField()
    arithmetic_version = models.CharField(max_length=20)
    as_of = models.DateTimeField(null=True, blank=True)
    json = models.JSONField()
    made_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["opening", "serial", "arithmetic_version", "as_of"], name="review_once_as_of"
            ),
            models.UniqueConstraint(
                fields=["opening", "serial", "arithmetic_version"],
                condition=models.Q(as_of__isnull=True),
                name="review_once",
            ),
        ]


class HiddenWarning(models.Model):
    """A warning put off by *Not now*: it stays away until the facts behind its fingerprint change."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="hidden_warnings")
    person = models.ForeignKey(Person, on_delete=models.CASCADE)
    fingerprint = models.CharField(max_length=64)
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["build", "person", "fingerprint"], name="warning_hidden_once")
        ]


class TakenItem(models.Model):
    """An item of a phone's waiting list that this log has taken, and what it was answered."""

    client_uuid = models.UUIDField(unique=True)
    account = models.ForeignKey(Account, on_delete=models.CASCADE, related_name="+")
    digest = models.CharField(max_length=64)
    answer = models.JSONField(default=dict, blank=True)
    taken_at = models.DateTimeField(db_index=True)


class Event(models.Model):
    """Who changed what and when."""

    build = models.ForeignKey(Build, null=True, blank=True, on_delete=models.PROTECT, related_name="events")
    at = models.DateTimeField()
    person = models.ForeignKey(Person, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    account = models.ForeignKey(Account, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    verb = models.CharField(max_length=30)
    noun = models.CharField(max_length=30)
    uuid = models.UUIDField(null=True, blank=True)
    before = models.JSONField(default=dict, blank=True)
    after = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [models.Index(fields=["build", "at"])]
