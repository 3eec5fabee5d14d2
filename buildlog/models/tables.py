"""A table that somebody sent in: kept as sent until it is taken in, then what came of it, so that it can be undone."""

from django.db import models

from .accounts import Account
from .builds import Build
from .people import Person
from .plans import PlanRevision
from .rows import Row


class TableImport(Row):
    class State(models.TextChoices):
        DRAFT = "draft"
        TAKEN = "taken"
        UNDONE = "undone"

    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="table_imports")
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    account = models.ForeignKey(Account, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    kind = models.CharField(max_length=8)
    name = models.CharField(max_length=120, blank=True)
    # The table as it was sent; emptied once it is taken in.
    text = models.TextField(blank=True)
    # What each column was taken for, and the answers beside it, as the builder left them.
    matches = models.JSONField(default=dict, blank=True)
    state = models.CharField(max_length=6, choices=State, default=State.DRAFT)
    # Counts, and the uuids of the readings and steps that came of it.
    result = models.JSONField(default=dict, blank=True)
    revision = models.ForeignKey(PlanRevision, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    made_at = models.DateTimeField()
    taken_at = models.DateTimeField(null=True, blank=True)
    undone_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-made_at", "-pk"]

    def __str__(self):
        return self.name or self.kind
