"""Photographs: the original untouched and private, renditions clean of everything but the picture."""

from django.db import models

from .builds import Build, Station
from .openings import Strake
from .people import Person
from .photo_edits import shown_marks
from .planks import Plank
from .rows import Row, Side
from .sessions import Session


class PhotoSeries(Row):
    """Photographs from one and the same place, in the order they were taken: "from the bow", "port quarter"."""

    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="photo_series")
    name = models.CharField(max_length=80)
    made_at = models.DateTimeField()

    class Meta:
        ordering = ["name", "pk"]
        verbose_name_plural = "photo series"
        constraints = [models.UniqueConstraint(fields=["build", "name"], name="photo_series_named_once")]


class Photo(Row):
    class State(models.TextChoices):
        RECEIVED = "received"
        READY = "ready"
        REFUSED = "refused"

    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="photos")
    version = models.PositiveIntegerField(default=1)
    client_uuid = models.UUIDField()
    sha256 = models.CharField(max_length=64)
    media_type = models.CharField(max_length=20)
    file_name = models.CharField(max_length=120, blank=True)
    file_bytes = models.PositiveBigIntegerField()
    state = models.CharField(max_length=8, choices=State, default=State.RECEIVED)
    refusal = models.CharField(max_length=300, blank=True)
    # The time it was taken, local to the bench: 2026-02-14T09:41:07. It is the file's own, until the clock of the
    # camera is put right: then the file's own stands in ``taken_in_file``, which is empty before.
    taken_local = models.CharField(max_length=19, blank=True)
    taken_in_file = models.CharField(max_length=19, blank=True, default="")
    # The kind of camera, never its number; photographs of one camera are sorted together.
    camera = models.CharField(max_length=60, blank=True, default="")
    # A slate says which session and strake the photographs after it belong to.
    is_slate = models.BooleanField(default=False)
    series = models.ForeignKey(PhotoSeries, null=True, blank=True, on_delete=models.PROTECT, related_name="photos")
    # How it is shown, the original never being touched: {"turn": 90, "crop": [left, top, right, bottom]}, the crop in
    # shares of the upright original, the turn clockwise after it.
    edits = models.JSONField(default=dict, blank=True)
    width = models.PositiveIntegerField(null=True, blank=True)
    height = models.PositiveIntegerField(null=True, blank=True)
    session = models.ForeignKey(Session, null=True, blank=True, on_delete=models.PROTECT, related_name="photos")
    person = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="photos")
    caption = models.CharField(max_length=300, blank=True)
    alt = models.CharField(max_length=300, blank=True)
    shared = models.BooleanField(default=False)
    # Arrows and numbers drawn over it, in shares of the upright original, whatever is cut off or turned since:
    # [{"kind": "number", "n": 1, "x": 0.52, "y": 0.31, "to_x": 0.4, "to_y": 0.2, "text": "free edge"}].
    drawn = models.JSONField(default=list, blank=True)
    known_at = models.DateTimeField()
    received_at = models.DateTimeField()
    taken_out_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["taken_local", "pk"]
        constraints = [models.UniqueConstraint(fields=["build", "client_uuid"], name="photo_sent_once")]

    @property
    def shown_marks(self) -> list[dict]:
        """The arrows and numbers where they stand in what is shown."""
        return shown_marks(self.edits, self.drawn)


class PhotoMark(models.Model):
    photo = models.ForeignKey(Photo, on_delete=models.CASCADE, related_name="marks")
    strake = models.ForeignKey(Strake, null=True, blank=True, on_delete=models.PROTECT, related_name="photo_marks")
    plank = models.ForeignKey(Plank, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    station = models.ForeignKey(Station, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    side = models.CharField(max_length=9, choices=Side, blank=True)


class PhotoRendition(models.Model):
    class Size(models.TextChoices):
        LARGE = "large"
        MIDDLE = "middle"
        SMALL = "small"

    photo = models.ForeignKey(Photo, on_delete=models.CASCADE, related_name="renditions")
    size = models.CharField(max_length=6, choices=Size)
    key = models.CharField(max_length=120)
    sha256 = models.CharField(max_length=64)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    file_bytes = models.PositiveBigIntegerField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["photo", "size"], name="rendition_once")]


class PhotoChange(Row):
    """What was done to many photographs at once, with what stood before, so that it can be taken back as a whole."""

    class Kind(models.TextChoices):
        LABEL = "label"
        SLATE = "slate"
        CLOCK = "clock"

    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="photo_changes")
    person = models.ForeignKey(Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=5, choices=Kind)
    at = models.DateTimeField()
    # {photograph: {what: value}} by UUID, only of what changed; ``after`` also names sessions that were begun for it.
    before = models.JSONField(default=dict)
    after = models.JSONField(default=dict)
    undone_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-at", "-pk"]
