"""Cut cards that were printed, and printers that were measured."""

from django.db import models

from .builds import Build
from .people import Person
from .plans import PlanStrake
from .rows import Fact, Row


class CardPrint(Row):
    """One card as it was printed: its code, its two check words, the widths on it and what to set."""

    plan_strake = models.ForeignKey(PlanStrake, on_delete=models.PROTECT, related_name="cards")
    code = models.CharField(max_length=16, unique=True)
    words = models.CharField(max_length=40)
    widths = models.JSONField(default=dict)
    # What the card says to set, nm by station name: the widths less the builder's habit as it was known then.
    set_widths = models.JSONField(default=dict, blank=True)
    printed_at = models.DateTimeField()
    printed_by = models.ForeignKey(Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    voided_at = models.DateTimeField(null=True, blank=True)
    thrown_away_at = models.DateTimeField(null=True, blank=True)


class PrinterCheck(Fact):
    class Direction(models.TextChoices):
        ALONG = "along"
        ACROSS = "across"

    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="printer_checks")
    person = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    printer = models.CharField(max_length=60)
    paper = models.CharField(max_length=20)
    direction = models.CharField(max_length=6, choices=Direction)
    nominal_nm = models.BigIntegerField()
    measured_nm = models.BigIntegerField()
