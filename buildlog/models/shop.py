"""The shop: wood, purchases, supplies, test strips and test joints. Private to the build."""

from django.db import models

from .builds import Build
from .people import Person
from .rows import EditedRow, Fact


class Lot(EditedRow):
    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="lots")
    name = models.CharField(max_length=40)
    species = models.CharField(max_length=60, blank=True)
    cut = models.CharField(max_length=20, blank=True)
    thickness_nm = models.BigIntegerField(null=True, blank=True)
    humidity_percent = models.PositiveSmallIntegerField(null=True, blank=True)
    bought_from = models.CharField(max_length=120, blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["build", "name"], name="lot_name_once")]

    def __str__(self):
        return self.name


class Purchase(EditedRow):
    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="purchases")
    lot = models.ForeignKey(Lot, null=True, blank=True, on_delete=models.PROTECT)
    bought_on = models.DateField()
    what = models.CharField(max_length=120)
    # Hundredths of the currency, so that a total adds up.
    price_cents = models.BigIntegerField(null=True, blank=True)
    currency = models.CharField(max_length=3, blank=True)


class Supply(EditedRow):
    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="supplies")
    name = models.CharField(max_length=80)
    opened_on = models.DateField(null=True, blank=True)
    low = models.BooleanField(default=False)
    note = models.CharField(max_length=300, blank=True)


class TestStrip(Fact):
    """A strip bent as a trial: what was done to it, and the tightest radius it took."""

    __test__ = False
    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="test_strips")
    person = models.ForeignKey(Person, null=True, on_delete=models.PROTECT)
    species = models.CharField(max_length=60)
    width_nm = models.BigIntegerField()
    thickness_nm = models.BigIntegerField()
    heat = models.CharField(max_length=80, blank=True)
    soak = models.CharField(max_length=80, blank=True)
    radius_nm = models.BigIntegerField()
    note = models.CharField(max_length=300, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)


class TestJoint(Fact):
    """Strips glued edge to edge and measured across, from which the builder's own seam is learnt."""

    __test__ = False
    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="test_joints")
    person = models.ForeignKey(Person, null=True, on_delete=models.PROTECT)
    seam_nm = models.BigIntegerField()
    u_nm = models.BigIntegerField()
    strips = models.PositiveSmallIntegerField(null=True, blank=True)
    # The widths of the single strips and the width across them all, as typed.
    typed = models.CharField(max_length=300, blank=True)
    note = models.CharField(max_length=300, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)


class CautionSeen(models.Model):
    """That an account has read a caution and need not meet it again. ``templatetags.cautions`` has the words."""

    KEYS = ("blades", "hot tools", "solvent", "dust", "glue", "oily rags")

    account = models.ForeignKey("buildlog.Account", on_delete=models.CASCADE, related_name="cautions_seen")
    key = models.CharField(max_length=20)
    at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["account", "key"], name="caution_seen_once")]
