"""Sessions at the bench, and what was written down in them."""

from django.db import models

from .builds import Build
from .people import Person
from .rows import EditedRow, Row, Side3


class Session(EditedRow):
    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="sessions")
    local_date = models.DateField()
    side = models.CharField(max_length=9, choices=Side3, blank=True)
    minutes = models.PositiveIntegerField(null=True, blank=True)
    kinds = models.JSONField(default=list, blank=True)
    humidity_percent = models.PositiveSmallIntegerField(null=True, blank=True)
    note = models.TextField(blank=True)
    next_note = models.TextField(blank=True)
    shared = models.BooleanField(default=False)
    by = models.ForeignKey(Person, null=True, blank=True, on_delete=models.PROTECT, related_name="sessions")
    # The clock was started by hand, so minutes are wanted of it when it stops.
    clocked = models.BooleanField(default=False)
    opened_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True, blank=True)
    known_at = models.DateTimeField(db_index=True)
    received_at = models.DateTimeField()

    # The kinds of work a session may name, in the order of the work.
    KINDS = (
        "lining off", "spiling", "cutting", "bending", "fitting", "gluing", "fastening", "measuring", "sanding",
        "planning",
    )  # fmt: skip

    class Meta:
        ordering = ["-local_date", "-opened_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                name="session_humidity_is_percent",
                condition=models.Q(humidity_percent__isnull=True) | models.Q(humidity_percent__lte=100),
            ),
        ]


class Written(Row):
    session = models.ForeignKey(Session, on_delete=models.PROTECT, related_name="%(class)ss")
    strake = models.ForeignKey("buildlog.Strake", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    person = models.ForeignKey(Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    text = models.TextField()
    written_at = models.DateTimeField()
    shared = models.BooleanField(default=False)

    class Meta:
        abstract = True
        ordering = ["written_at", "pk"]


class Tip(Written):
    """A thing learnt, found again by the word of the operation (spiling, bending, ...)."""

    operation = models.CharField(max_length=40, blank=True)


class Mishap(Written):
    plank = models.ForeignKey("buildlog.Plank", null=True, blank=True, on_delete=models.PROTECT, related_name="mishaps")


class Worry(Written):
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_reason = models.CharField(max_length=300, blank=True)

    class Meta(Written.Meta):
        verbose_name_plural = "worries"
