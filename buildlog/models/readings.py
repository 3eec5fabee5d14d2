"""Readings: never updated, never deleted. An amendment row replaces, withdraws or puts in doubt one."""

from django.db import models

from .builds import Build, Station
from .instruments import Epoch, Instrument
from .openings import Opening, Strake
from .people import Person
from .planks import Plank
from .rows import Fact, Size
from .sessions import Session


class Unchangeable(Exception):
    """A reading was to be changed or deleted; write an amendment instead."""


class ReadingQuerySet(models.QuerySet):
    def update(self, **kwargs):
        raise Unchangeable("readings are never updated; write an amendment")

    def delete(self):
        raise Unchangeable("readings are never deleted; write an amendment")


class Reading(Fact):
    class Kind(models.TextChoices):
        WIDTH = "width"
        EDGE = "edge"
        GAP = "gap"
        GIRTH = "girth"
        THICKNESS = "thickness"
        ZERO = "zero"

    class Method(models.TextChoices):
        JAWS = "jaws"
        DIVIDERS = "dividers"
        PAPER_STRIP = "paper_strip"
        TAPE = "tape"
        PHOTO = "photo"

    class Damp(models.TextChoices):
        DRY = "dry"
        DAMP = "damp"

    class Stage(models.TextChoices):
        NONE = ""
        CUT = "cut"
        HUNG = "hung"
        SANDED = "sanded"

    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="readings")
    client_uuid = models.UUIDField()
    content_sha256 = models.CharField(max_length=64)
    kind = models.CharField(max_length=9, choices=Kind)
    opening = models.ForeignKey(Opening, null=True, blank=True, on_delete=models.PROTECT, related_name="readings")
    strake = models.ForeignKey(Strake, null=True, blank=True, on_delete=models.PROTECT, related_name="readings")
    plank = models.ForeignKey(Plank, null=True, blank=True, on_delete=models.PROTECT, related_name="readings")
    station = models.ForeignKey(Station, null=True, blank=True, on_delete=models.PROTECT, related_name="readings")
    from_line = models.CharField(max_length=40, blank=True)
    to_line = models.CharField(max_length=40, blank=True)
    value_nm = models.BigIntegerField(null=True, blank=True)
    missing_reason = models.CharField(max_length=120, blank=True)
    typed = models.CharField(max_length=40, blank=True)
    unit = models.CharField(max_length=8, blank=True)
    size = models.CharField(max_length=5, choices=Size, default=Size.MODEL)
    # Why an odd figure was kept, when the page asked.
    kept_reason = models.CharField(max_length=200, blank=True)
    u_nm = models.BigIntegerField(null=True, blank=True)
    instrument = models.ForeignKey(Instrument, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    epoch = models.ForeignKey(Epoch, null=True, blank=True, on_delete=models.PROTECT, related_name="readings")
    method = models.CharField(max_length=11, choices=Method)
    damp = models.CharField(max_length=4, choices=Damp, default=Damp.DRY)
    stage = models.CharField(max_length=6, choices=Stage, blank=True, default=Stage.NONE)
    session = models.ForeignKey(Session, null=True, blank=True, on_delete=models.PROTECT, related_name="readings")
    person = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="readings")
    entered_by = models.ForeignKey(
        "buildlog.Account", null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    objects = ReadingQuerySet.as_manager()

    class Meta:
        ordering = ["happened_at", "pk"]
        indexes = [models.Index(fields=["opening", "kind", "known_at"])]
        constraints = [
            models.UniqueConstraint(fields=["build", "client_uuid"], name="reading_sent_once"),
            models.CheckConstraint(
                name="reading_has_value_or_reason",
                condition=models.Q(value_nm__isnull=False, missing_reason="")
                | (models.Q(value_nm__isnull=True) & ~models.Q(missing_reason="")),
            ),
            models.CheckConstraint(
                name="reading_is_positive",
                condition=models.Q(value_nm__isnull=True) | models.Q(value_nm__gt=0) | models.Q(kind="zero"),
            ),
            models.CheckConstraint(
                name="reading_knows_its_place",
                condition=models.Q(kind="zero", instrument__isnull=False)
                | models.Q(kind__in=["width", "thickness"], strake__isnull=False, station__isnull=False)
                | models.Q(kind__in=["gap", "girth", "edge"], opening__isnull=False, station__isnull=False),
            ),
        ]

    def save(self, *args, **kwargs):
        if self.pk:
            raise Unchangeable("readings are never updated; write an amendment")
        super().save(*args, **kwargs)

    def delete(self, *args, **kwargs):
        raise Unchangeable("readings are never deleted; write an amendment")


class Amendment(Fact):
    class Act(models.TextChoices):
        REPLACES = "replaces"
        WITHDRAWS = "withdraws"
        DOUBTS = "doubts"

    target = models.OneToOneField(Reading, on_delete=models.PROTECT, related_name="amendment")
    act = models.CharField(max_length=9, choices=Act)
    new_reading = models.OneToOneField(
        Reading, null=True, blank=True, on_delete=models.PROTECT, related_name="amends"
    )
    reason = models.CharField(max_length=300)
    person = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="amendment_replaces_with_a_reading",
                condition=models.Q(act="replaces", new_reading__isnull=False)
                | (~models.Q(act="replaces") & models.Q(new_reading__isnull=True)),
            ),
        ]
