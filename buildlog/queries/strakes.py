"""All about one strake: its plan, its planks, its readings, its photographs, what was written of it."""

from dataclasses import dataclass, field

from buildlog.models import Mishap, Photo, PlankStep, PlanStrake, Tip, Worry

from .plans import StrakeOfPlan
from .readings import ShownReading, all_readings


@dataclass(frozen=True)
class Written:
    """A tip, mishap or worry about a strake, with its kind."""

    kind: str
    row: object


@dataclass
class StrakeStory:
    strake: StrakeOfPlan
    readings: list[ShownReading] = field(default_factory=list)
    steps: list[PlankStep] = field(default_factory=list)
    photos: list[Photo] = field(default_factory=list)
    written: list[Written] = field(default_factory=list)
    plans: list[PlanStrake] = field(default_factory=list)

    @property
    def not_counted(self) -> list[ShownReading]:
        return [shown for shown in self.readings if not shown.counts]


def story_of(strake: StrakeOfPlan, as_of=None) -> StrakeStory:
    """Return all that is known of one strake of the plan, in eight queries."""
    row = strake.plan.strake
    steps = PlankStep.objects.filter(plank__strake=row).select_related("plank__revision", "person")
    if as_of is not None:
        steps = steps.filter(known_at__lte=as_of)
    photos = Photo.objects.filter(marks__strake=row, taken_out_at__isnull=True, state=Photo.State.READY)
    return StrakeStory(
        strake=strake,
        readings=all_readings(row, as_of),
        steps=list(steps.order_by("happened_at", "pk")),
        photos=list(photos.distinct().order_by("-pk")[:4]),
        written=_written(row),
        plans=list(PlanStrake.objects.filter(strake=row, revision__number__isnull=False).select_related("revision")),
    )


def _written(row) -> list[Written]:
    kinds = {"tip": Tip, "mishap": Mishap, "worry": Worry}
    found = [
        Written(kind, one)
        for kind, model in kinds.items()
        for one in model.objects.filter(strake=row).select_related("person", "session")
    ]
    return sorted(found, key=lambda w: w.row.written_at, reverse=True)
