"""The plan: revisions, each a full copy of labels, order, belts, runs and widths."""

from django.db import models

from .builds import Build, Frame, Station
from .openings import Opening, Strake
from .people import Person
from .rows import EditedRow, Fact, QuickRow, Row, Size


class PlanRevision(Fact):
    """A dated version of the plan. Drift is judged against the revision a plank was cut to."""

    class State(models.TextChoices):
        DRAFT = "draft"
        PROPOSED = "proposed"
        IN_FORCE = "in_force"
        PAST = "past"

    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="revisions")
    number = models.PositiveIntegerField(null=True, blank=True)
    state = models.CharField(max_length=8, choices=State, default=State.DRAFT)
    version = models.PositiveIntegerField(default=1)
    reason = models.TextField(blank=True)
    proposed_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    decided_by = models.ForeignKey(Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    in_force_from = models.DateTimeField(null=True, blank=True)
    in_force_until = models.DateTimeField(null=True, blank=True)
    accepted_by_eye = models.BooleanField(default=False)
    # The photograph that shows what the eye agreed to.
    accepted_photo = models.ForeignKey(
        "buildlog.Photo", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    # The revision this one was copied from; a draft of one that rules no more is brought up to date first.
    based_on = models.ForeignKey("self", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    proposed_at = models.DateTimeField(null=True, blank=True)
    # The owner's words when a proposal goes back.
    answer = models.TextField(blank=True)

    class Meta:
        ordering = ["number", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["build", "number"], name="revision_number_once"),
            models.UniqueConstraint(
                fields=["build"], condition=models.Q(state="in_force"), name="one_revision_in_force"
            ),
            models.CheckConstraint(
                name="revision_in_force_is_numbered",
                condition=~models.Q(state__in=["in_force", "past"])
                | models.Q(number__isnull=False, in_force_from__isnull=False),
            ),
        ]

    def __str__(self):
        return f"Revision {self.number}" if self.number else "Draft"


class PlanOpening(Row):
    """What a revision says of a whole opening: the planned seam, and the limits as thousandths of a width."""

    revision = models.ForeignKey(PlanRevision, on_delete=models.CASCADE, related_name="openings")
    opening = models.ForeignKey(Opening, on_delete=models.PROTECT, related_name="plans")
    planned_seam_nm = models.BigIntegerField(default=0)
    step_permille = models.PositiveIntegerField(default=40)
    closing_permille = models.PositiveIntegerField(default=100)
    narrow_permille = models.PositiveIntegerField(default=500)
    wide_permille = models.PositiveIntegerField(default=1500)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["revision", "opening"], name="plan_opening_once"),
            models.CheckConstraint(name="planned_seam_not_negative", condition=models.Q(planned_seam_nm__gte=0)),
        ]


class PlanGirth(QuickRow):
    """What the widths and seams of a revision close on at a station, and what the drawing says there.

    New widths close on a gap that was read; ``lined_off_nm`` then keeps the girth the plan was lined off on, so
    that the gap is not taken for a girth as well and so counted twice.
    """

    plan_opening = models.ForeignKey(PlanOpening, on_delete=models.CASCADE, related_name="girths")
    station = models.ForeignKey(Station, on_delete=models.PROTECT)
    girth_nm = models.BigIntegerField()
    drawing_nm = models.BigIntegerField(null=True, blank=True)
    lined_off_nm = models.BigIntegerField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["plan_opening", "station"], name="plan_girth_once"),
            models.CheckConstraint(name="plan_girth_positive", condition=models.Q(girth_nm__gt=0)),
        ]


class PlanBelt(Row):
    class AtLine(models.TextChoices):
        CARRY = "carry"
        HOLD = "hold"

    revision = models.ForeignKey(PlanRevision, on_delete=models.CASCADE, related_name="belts")
    opening = models.ForeignKey(Opening, on_delete=models.PROTECT)
    name = models.CharField(max_length=40)
    position = models.PositiveIntegerField()
    at_line = models.CharField(max_length=5, choices=AtLine, default=AtLine.CARRY)

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["revision", "opening", "position"], name="belt_position_once"),
            models.UniqueConstraint(fields=["revision", "opening", "name"], name="belt_name_once"),
        ]

    def __str__(self):
        return self.name


class PlanStrake(Row):
    class Run(models.TextChoices):
        WALE = "wale"
        KEEL = "keel"
        CLOSING = "closing"

    class Kind(models.TextChoices):
        FULL = "full"
        DROP = "drop"
        STEALER = "stealer"

    revision = models.ForeignKey(PlanRevision, on_delete=models.CASCADE, related_name="strakes")
    opening = models.ForeignKey(Opening, on_delete=models.PROTECT, related_name="plan_strakes")
    strake = models.ForeignKey(Strake, on_delete=models.PROTECT, related_name="plans")
    belt = models.ForeignKey(PlanBelt, null=True, blank=True, on_delete=models.SET_NULL, related_name="strakes")
    label = models.CharField(max_length=12)
    # Counted from the keel side, 1 the garboard of the opening.
    position = models.PositiveIntegerField()
    run = models.CharField(max_length=7, choices=Run)
    kind = models.CharField(max_length=7, choices=Kind, default=Kind.FULL)
    # Stretches of frame numbers, forward to aft: [[-17, 18]]. Empty: from end to end.
    spans = models.JSONField(default=list, blank=True)
    joins = models.CharField(max_length=40, blank=True)

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["revision", "strake"], name="plan_strake_once"),
            models.UniqueConstraint(fields=["revision", "opening", "label"], name="plan_label_once"),
            models.UniqueConstraint(fields=["revision", "opening", "position"], name="plan_position_once"),
            models.UniqueConstraint(
                fields=["revision", "opening"], condition=models.Q(run="closing"), name="one_closing_strake"
            ),
        ]

    def __str__(self):
        return self.label


class PlanWidth(QuickRow):
    plan_strake = models.ForeignKey(PlanStrake, on_delete=models.CASCADE, related_name="widths")
    station = models.ForeignKey(Station, on_delete=models.PROTECT)
    width_nm = models.BigIntegerField()
    thickness_nm = models.BigIntegerField(null=True, blank=True)
    typed = models.CharField(max_length=40, blank=True)
    unit = models.CharField(max_length=8, blank=True)
    size = models.CharField(max_length=5, choices=Size, default=Size.MODEL)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["plan_strake", "station"], name="plan_width_once"),
            models.CheckConstraint(name="plan_width_positive", condition=models.Q(width_nm__gt=0)),
            models.CheckConstraint(
                name="plan_thickness_positive",
                condition=models.Q(thickness_nm__isnull=True) | models.Q(thickness_nm__gt=0),
            ),
        ]


class PlanPlank(Row):
    """A planned length within a strake, frame to frame; a butt is the frame between two."""

    plan_strake = models.ForeignKey(PlanStrake, on_delete=models.CASCADE, related_name="planks")
    order = models.PositiveIntegerField()
    from_frame = models.ForeignKey(Frame, on_delete=models.PROTECT, related_name="+")
    to_frame = models.ForeignKey(Frame, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["order"]
        constraints = [models.UniqueConstraint(fields=["plan_strake", "order"], name="plan_plank_once")]


class RuleSet(EditedRow):
    """A rule of the trade with its source and date, for one build or for all."""

    build = models.ForeignKey(Build, null=True, blank=True, on_delete=models.PROTECT, related_name="rule_sets")
    name = models.CharField(max_length=80)
    source = models.CharField(max_length=300)
    dated = models.CharField(max_length=40, blank=True)
    rules = models.JSONField(default=dict)
