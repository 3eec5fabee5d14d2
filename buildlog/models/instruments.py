"""Instruments and their epochs: an epoch lasts from one event that may move the zero to the next."""

from django.db import models

from .builds import Build
from .people import Person
from .rows import EditedRow, Fact, Row


class Instrument(EditedRow):
    class Kind(models.TextChoices):
        CALIPER = "caliper"
        MICROMETER = "micrometer"
        RULE = "rule"
        STRIP = "strip"
        TAPE = "tape"
        DIVIDERS = "dividers"

    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="instruments")
    name = models.CharField(max_length=40)
    kind = models.CharField(max_length=10, choices=Kind)
    owner = models.ForeignKey(Person, null=True, blank=True, on_delete=models.SET_NULL, related_name="instruments")
    reading_unit = models.CharField(max_length=5, choices=Build.ReadingUnit, default=Build.ReadingUnit.MM)
    resolution_nm = models.BigIntegerField(default=10_000)
    # Standard uncertainty of one reading by this hand with this tool.
    u_nm = models.BigIntegerField(default=20_000)
    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["build", "name"], name="instrument_name_once"),
            models.CheckConstraint(name="instrument_u_positive", condition=models.Q(u_nm__gt=0)),
        ]

    def __str__(self):
        return self.name

    @property
    def has_jaws(self) -> bool:
        """Whether it can be shut and read: a strip, a tape, a rule and dividers have no zero of that kind."""
        return self.kind in (self.Kind.CALIPER, self.Kind.MICROMETER)


class Epoch(Row):
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="epochs")
    number = models.PositiveIntegerField()
    starts_at = models.DateTimeField()
    u_zero_nm = models.BigIntegerField(default=20_000)

    class Meta:
        ordering = ["number"]
        constraints = [models.UniqueConstraint(fields=["instrument", "number"], name="epoch_number_once")]


class InstrumentEvent(Fact):
    class Kind(models.TextChoices):
        NEW = "new"
        ZERO_MAY_HAVE_MOVED = "zero_may_have_moved"
        ZERO_CHECK = "zero_check"
        STRIP_CHECK = "strip_check"

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="events")
    epoch = models.ForeignKey(Epoch, on_delete=models.PROTECT, related_name="events")
    kind = models.CharField(max_length=20, choices=Kind)
    # What the instrument read with its jaws shut, or on a strip of known width less that width.
    offset_nm = models.BigIntegerField(null=True, blank=True)
    u_nm = models.BigIntegerField(null=True, blank=True)
    person = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["happened_at", "pk"]


class ZeroCorrection(Fact):
    """An offset taken off every reading of an epoch. The readings keep what was read."""

    epoch = models.ForeignKey(Epoch, on_delete=models.PROTECT, related_name="corrections")
    offset_nm = models.BigIntegerField()
    u_nm = models.BigIntegerField()
    reason = models.CharField(max_length=300)
    person = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_by = models.ForeignKey(Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["epoch"], condition=models.Q(withdrawn_at__isnull=True), name="one_standing_correction"
            ),
        ]
