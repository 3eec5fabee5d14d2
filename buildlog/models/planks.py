"""Planks: one length within a strake. Each attempt is its own row, and each step of its life a fact."""

from django.db import models

from .openings import Strake
from .people import Person
from .plans import PlanRevision
from .rows import Fact, Row
from .shop import Lot


class Plank(Row):
    class State(models.TextChoices):
        CUTTING = "cutting"
        CUT = "cut"
        DRY_FITTED = "dry_fitted"
        HUNG = "hung"
        SPOILED = "spoiled"
        TAKEN_OFF = "taken_off"

    class Measured(models.TextChoices):
        MEASURED = "measured"
        NOT_MEASURED = "not_measured"
        BEFORE_LOG = "before_log"

    IN_PLACE = [State.CUTTING, State.CUT, State.DRY_FITTED, State.HUNG]

    strake = models.ForeignKey(Strake, on_delete=models.PROTECT, related_name="planks")
    number = models.PositiveIntegerField(default=1)
    # The revision it was cut to; drift is judged against this one, whatever came since.
    revision = models.ForeignKey(PlanRevision, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    by = models.ForeignKey(Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    lot = models.ForeignKey(Lot, null=True, blank=True, on_delete=models.PROTECT, related_name="planks")
    state = models.CharField(max_length=10, choices=State)
    measured = models.CharField(max_length=12, choices=Measured, default=Measured.MEASURED)
    # What its card told the builder to set, nm by station name; empty where the habit was not taken off.
    set_widths = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["number", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["strake", "number"],
                condition=models.Q(state__in=["cutting", "cut", "dry_fitted", "hung"]),
                name="one_plank_in_place",
            ),
        ]


class PlankStep(Fact):
    """One step of a plank's life. The plank's ``state`` is the newest of these."""

    plank = models.ForeignKey(Plank, on_delete=models.PROTECT, related_name="steps")
    state = models.CharField(max_length=10, choices=Plank.State)
    person = models.ForeignKey(Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    session = models.ForeignKey("buildlog.Session", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    reason = models.CharField(max_length=300, blank=True)
    # How the plank was known to be measured at this step; "" in steps older than the column.
    measured = models.CharField(max_length=12, choices=Plank.Measured, blank=True, default="")

    class Meta:
        ordering = ["happened_at", "pk"]


class EdgeDressed(Fact):
    """An edge dressed after measuring, from a station to a station: those widths are less sure since.

    One told by mistake is withdrawn from a moment on; it stays, and is still seen as of a date before.
    """

    strake = models.ForeignKey(Strake, on_delete=models.PROTECT, related_name="dressings")
    from_station = models.ForeignKey("buildlog.Station", on_delete=models.PROTECT, related_name="+")
    to_station = models.ForeignKey("buildlog.Station", on_delete=models.PROTECT, related_name="+")
    person = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=300, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_by = models.ForeignKey(Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
