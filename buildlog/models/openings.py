"""An opening: all planking of one layer and one side between two fixed lines. One ledger an opening."""

from django.db import models

from .builds import Build
from .rows import EditedRow, Row, Side


class Opening(EditedRow):
    class Edge(models.TextChoices):
        FIXED = "fixed"
        OPEN = "open"

    class GirthTaken(models.TextChoices):
        BARE_FRAMES = "bare_frames"
        OVER_PLANKING = "over_planking"

    class WidthsTaken(models.TextChoices):
        BEFORE_BEVEL = "before_bevel"
        AFTER_BEVEL = "after_bevel"

    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="openings")
    side = models.CharField(max_length=9, choices=Side)
    layer = models.PositiveSmallIntegerField(default=1)
    position = models.PositiveSmallIntegerField(default=1)
    keel_line = models.CharField(max_length=40, default="keel")
    wale_line = models.CharField(max_length=40, default="wale")
    keel_edge = models.CharField(max_length=5, choices=Edge, default=Edge.FIXED)
    wale_edge = models.CharField(max_length=5, choices=Edge, default=Edge.FIXED)
    left_open = models.BooleanField(default=False)
    stock_width_nm = models.BigIntegerField(null=True, blank=True)
    girth_taken = models.CharField(max_length=13, choices=GirthTaken, default=GirthTaken.BARE_FRAMES)
    widths_taken = models.CharField(max_length=12, choices=WidthsTaken, default=WidthsTaken.BEFORE_BEVEL)
    # Rises with every fact of the opening, so that a stored review is known to be of the present.
    serial = models.PositiveBigIntegerField(default=0)

    class Meta:
        ordering = ["layer", "side", "position"]
        constraints = [
            models.UniqueConstraint(fields=["build", "side", "layer", "position"], name="opening_once"),
            models.CheckConstraint(
                name="opening_stock_is_positive",
                condition=models.Q(stock_width_nm__isnull=True) | models.Q(stock_width_nm__gt=0),
            ),
        ]

    def __str__(self):
        return f"{self.side}, {self.keel_line} to {self.wale_line}"


class Strake(Row):
    """One line of planks, with an identity for ever. Its label, order and run belong to the revision."""

    opening = models.ForeignKey(Opening, on_delete=models.PROTECT, related_name="strakes")

    class Meta:
        ordering = ["pk"]
