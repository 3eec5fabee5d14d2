"""A build: one model on one bench, its frames and its stations."""

from datetime import datetime, time, timedelta
from fractions import Fraction
from zoneinfo import ZoneInfo

from django.db import models

from .rows import EditedRow, Row, Side3


class Build(EditedRow):
    class ReadingUnit(models.TextChoices):
        MM = "mm"
        INCH = "in"
        SIXTY_FOURTHS = "64ths"

    class ReaderUnits(models.TextChoices):
        MM = "mm"
        INCH = "in"

    name = models.CharField(max_length=80)
    scale_num = models.PositiveIntegerField(null=True, blank=True)
    scale_den = models.PositiveIntegerField(null=True, blank=True)
    frame_word = models.CharField(max_length=20, default="frame")
    sides = models.CharField(max_length=9, choices=Side3, default=Side3.BOTH)
    reading_unit = models.CharField(max_length=5, choices=ReadingUnit, default=ReadingUnit.MM)
    time_zone = models.CharField(max_length=64, default="UTC")
    story = models.TextField(blank=True)
    reader_units = models.CharField(max_length=2, choices=ReaderUnits, default=ReaderUnits.MM)
    photographs_only = models.BooleanField(default=False)
    set_up_at = models.DateTimeField(null=True, blank=True)
    # The invented hull that comes with `demo`; pages say so, and lead a newcomer to it.
    is_sample = models.BooleanField(default=False)
    # What the first run was told before there was a plan, as it was typed, so that going back finds it again.
    first_run = models.JSONField(default=dict, blank=True)
    created_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="build_scale_is_whole",
                condition=models.Q(scale_num__isnull=True, scale_den__isnull=True)
                | models.Q(scale_num__gt=0, scale_den__gt=0),
            ),
        ]

    def __str__(self):
        return self.name

    @property
    def scale(self) -> Fraction | None:
        """The model's size over the vessel's, for instance 1/48; None where no scale was given."""
        return Fraction(self.scale_num, self.scale_den) if self.scale_num else None

    @property
    def scale_text(self) -> str:
        if not self.scale_num:
            return ""
        scale = 1 / self.scale
        return f"1:{scale.numerator}" if scale.denominator == 1 else f"1:{float(scale):g}"

    @property
    def side_list(self) -> list[str]:
        return ["port", "starboard"] if self.sides == Side3.BOTH else [self.sides]

    def end_of(self, day):
        """Return the last moment of a day on the builder's wall calendar: what a hull "on" that day is known by."""
        end = datetime.combine(day, time.min, tzinfo=ZoneInfo(self.time_zone)) + timedelta(days=1)
        return end - timedelta(microseconds=1)


class Frame(Row):
    """A frame, where butts land. Numbered forward to aft from dead flat, forward negative."""

    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="frames")
    number = models.IntegerField()
    x_nm = models.BigIntegerField(null=True, blank=True)
    name = models.CharField(max_length=20, blank=True)

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["build", "number"], name="frame_number_once"),
        ]

    def __str__(self):
        return self.name or str(self.number)


class Station(EditedRow):
    """Where readings are taken. ``position`` counts forward to aft; ``x_nm`` is aft of dead flat."""

    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="stations")
    frame = models.ForeignKey(Frame, null=True, blank=True, on_delete=models.PROTECT, related_name="stations")
    name = models.CharField(max_length=20)
    position = models.PositiveIntegerField()
    x_nm = models.BigIntegerField(null=True, blank=True)
    along_rabbet = models.BooleanField(default=False)
    is_dead_flat = models.BooleanField(default=False)
    # The five that are asked at every strake; the others are there for whoever wants them, never nagged.
    read_by_default = models.BooleanField(default=True)

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["build", "name"], name="station_name_once"),
            models.UniqueConstraint(fields=["build", "position"], name="station_position_once"),
        ]

    def __str__(self):
        return self.name
