"""Photographs: the original untouched and private, renditions clean of everything but the picture."""

from django.db import models

from .builds import Build, Station
from .openings import Strake
from .people import Person
from .planks import Plank
from .rows import Row, Side
from .sessions import Session


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
    # The time in the file as it stands there, local to wherever the camera was set: 2026-02-14T09:41:07.
    taken_local = models.CharField(max_length=19, blank=True)
    width = models.PositiveIntegerField(null=True, blank=True)
    height = models.PositiveIntegerField(null=True, blank=True)
    session = models.ForeignKey(Session, null=True, blank=True, on_delete=models.PROTECT, related_name="photos")
    person = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="photos")
    caption = models.CharField(max_length=300, blank=True)
    alt = models.CharField(max_length=300, blank=True)
    shared = models.BooleanField(default=False)
    # Arrows and numbers drawn over it:
    # [{"kind": "number", "n": 1, "x": 0.52, "y": 0.31, "text": "free edge"}].
    drawn = models.JSONField(default=list, blank=True)
    known_at = models.DateTimeField()
    received_at = models.DateTimeField()
    taken_out_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["taken_local", "pk"]
        constraints = [models.UniqueConstraint(fields=["build", "client_uuid"], name="photo_sent_once")]


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
