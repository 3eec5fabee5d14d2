"""Share links of the club page, and what their readers may send back."""

from django.db import models

from .builds import Build
from .people import Person
from .rows import Row


class ShareLink(Row):
    """A link a club opens. Its token is made from a key kept outside the database; the row keeps its SHA-256."""

    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="links")
    name = models.CharField(max_length=80)
    token_sha256 = models.CharField(max_length=64, unique=True)
    generation = models.PositiveIntegerField(default=1)
    made_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField(null=True, blank=True)
    paused_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    # What it shows besides shared sessions and photographs: {"numbers": true, "questions": false}.
    shows = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["-made_at", "-pk"]


class Question(Row):
    class State(models.TextChoices):
        HELD = "held"
        PASSED = "passed"
        HIDDEN = "hidden"

    class Kind(models.TextChoices):
        QUESTION = "question"
        THANKS = "thanks"

    link = models.ForeignKey(ShareLink, on_delete=models.PROTECT, related_name="questions")
    kind = models.CharField(max_length=8, choices=Kind, default=Kind.QUESTION)
    text = models.TextField(blank=True)
    from_name = models.CharField(max_length=80, blank=True)
    state = models.CharField(max_length=6, choices=State, default=State.HELD)
    asked_at = models.DateTimeField()
    decided_by = models.ForeignKey(Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    answer = models.TextField(blank=True)
