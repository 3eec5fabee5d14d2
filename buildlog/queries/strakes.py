"""All about one strake: its plan, its planks, its readings, its photographs, what was written of it."""

from dataclasses import dataclass, field

from buildlog.models import (
    EdgeDressed,
    Mishap,
    Photo,
    Plank,
    PlankStep,
    PlanStrake,
    PlanWidth,
    Reading,
    Station,
    Tip,
    Worry,
)

from .plans import StrakeOfPlan
from .readings import ShownReading, all_readings


@dataclass(frozen=True)
class Written:
    """A tip, mishap or worry about a strake, with its kind."""

    kind: str
    row: object


@dataclass(frozen=True)
class Occasion:
    """Readings that count, taken on one day by one person with one instrument at one stage."""

    first: Reading
    readings: list[Reading]


@dataclass(frozen=True)
class Deed:
    """One step that several planks of the strake took together."""

    step: PlankStep
    planks: list[int]


@dataclass
class StrakeStory:
    strake: StrakeOfPlan
    readings: list[ShownReading] = field(default_factory=list)
    steps: list[PlankStep] = field(default_factory=list)
    photos: list[Photo] = field(default_factory=list)
    written: list[Written] = field(default_factory=list)
    plans: list[PlanStrake] = field(default_factory=list)
    dressings: list[EdgeDressed] = field(default_factory=list)
    # The newest dressing stands later than any gap read on this side: only a gap says what it did.
    asks_for_gap: bool = False

    @property
    def occasions(self) -> list[Occasion]:
        found: dict[tuple, list[Reading]] = {}
        for shown in self.readings:
            if shown.counts:
                found.setdefault(_occasion_of(shown.reading), []).append(shown.reading)
        return [Occasion(readings[0], readings) for _key, readings in sorted(found.items(), key=lambda one: one[0][0])]

    @property
    def deeds(self) -> list[Deed]:
        found: dict[tuple, list[PlankStep]] = {}
        for step in self.steps:
            alike = step.happened_at.date(), step.state, step.reason, step.person_id, step.plank.revision_id
            found.setdefault(alike, []).append(step)
        return [Deed(steps[0], sorted(step.plank.number for step in steps)) for steps in found.values()]

    @property
    def not_counted(self) -> list[ShownReading]:
        return [shown for shown in self.readings if not shown.counts]


def story_of(strake: StrakeOfPlan, as_of=None) -> StrakeStory:
    """Return all that is known of one strake of the plan, in eleven queries."""
    row = strake.plan.strake
    steps = PlankStep.objects.filter(plank__strake=row).select_related("plank__revision", "person")
    if as_of is not None:
        steps = steps.filter(known_at__lte=as_of)
    dressings = _dressings(row, as_of)
    photos = Photo.objects.filter(marks__strake=row, taken_out_at__isnull=True, state=Photo.State.READY)
    return StrakeStory(
        strake=strake,
        readings=all_readings(row, as_of),
        steps=list(steps.order_by("happened_at", "pk")),
        photos=list(photos.distinct().order_by("-pk")[:4]),
        written=_written(row),
        plans=list(PlanStrake.objects.filter(strake=row, revision__number__isnull=False).select_related("revision")),
        dressings=dressings,
        asks_for_gap=_asks_for_gap(row, dressings, as_of),
    )


def stations_of(strake) -> list[Station]:
    """Return the stations that a strake reaches in any plan, forward to aft; all of them where no plan tells."""
    reached = PlanWidth.objects.filter(plan_strake__strake=strake).values("station")
    stations = strake.opening.build.stations.order_by("position")
    return list(stations.filter(pk__in=reached)) or list(stations)


def lot_of(strake):
    """Return the wood lot of a strake's planks in place, or None."""
    plank = strake.planks.filter(state__in=Plank.IN_PLACE, lot__isnull=False).select_related("lot").first()
    return plank.lot if plank else None


def _dressings(row, as_of) -> list[EdgeDressed]:
    rows = EdgeDressed.objects.filter(strake=row).select_related(
        "from_station", "to_station", "person", "withdrawn_by"
    )
    if as_of is not None:
        rows = rows.filter(known_at__lte=as_of)
    return list(rows.order_by("happened_at", "pk"))


def _asks_for_gap(row, dressings, as_of) -> bool:
    standing = [one.happened_at for one in dressings if one.withdrawn_at is None]
    if not standing:
        return False
    gaps = Reading.objects.filter(opening=row.opening, kind=Reading.Kind.GAP, happened_at__gte=max(standing))
    return not (gaps if as_of is None else gaps.filter(known_at__lte=as_of)).exists()


def _occasion_of(reading) -> tuple:
    day = reading.happened_at.date()
    return day, reading.kind, reading.stage, reading.person_id or 0, reading.instrument_id or 0, reading.method


def _written(row) -> list[Written]:
    kinds = {"tip": Tip, "mishap": Mishap, "worry": Worry}
    found = [
        Written(kind, one)
        for kind, model in kinds.items()
        for one in model.objects.filter(strake=row).select_related("person", "session")
    ]
    return sorted(found, key=lambda w: w.row.written_at, reverse=True)
