"""What a table that comes in is read against: names, places, planned widths, and what the log already has."""

import zoneinfo
from dataclasses import dataclass, field
from datetime import tzinfo
from uuid import UUID

from buildlog.models import (
    Amendment,
    Build,
    PlanGirth,
    Plank,
    PlanRevision,
    PlanStrake,
    PlanWidth,
    Reading,
    TableImport,
)

from .tables import READING_KIND, opening_names
from .widths import LEAST_FOR_A_SPREAD

# The words of an amendment that took a whole import back; a later import of the same file may bring it again.
IMPORT_UNDONE = "import undone"


@dataclass(frozen=True)
class KnownStrake:
    pk: int
    uuid: UUID
    label: str
    opening: int
    # It hangs, or was cut: a new plan leaves its widths as they are.
    is_locked: bool = False


@dataclass
class Known:
    """All that is read of a build before its table is; keys are folded names, or primary keys."""

    build: Build
    zone: tzinfo
    openings: dict = field(default_factory=dict)
    opening_uuids: dict = field(default_factory=dict)
    stations: dict = field(default_factory=dict)
    strakes: dict = field(default_factory=dict)
    people: dict = field(default_factory=dict)
    instruments: dict = field(default_factory=dict)
    planned: dict = field(default_factory=dict)
    girths: dict = field(default_factory=dict)
    # The plan in force by (opening, folded label): the widths by station, in nm.
    plan_now: dict = field(default_factory=dict)
    # Standing readings by place: (nm, moment) of each.
    standing: dict = field(default_factory=dict)
    # Client uuids that the build has, and whether an undone import brought them.
    sent: dict = field(default_factory=dict)
    # Readings by their own uuid, with their figure.
    readings: dict = field(default_factory=dict)
    usual_nm: int | None = None

    @property
    def has_plan(self) -> bool:
        return bool(self.planned)


def fold(name: str) -> str:
    return " ".join(str(name).split()).casefold()


def known_for(build, kind) -> Known:
    """Return what a table of one kind is read against, in a dozen queries however long the table."""
    known = Known(build, zoneinfo.ZoneInfo(build.time_zone))
    for pk, name in opening_names(build).items():
        known.openings[fold(name)] = pk
    known.opening_uuids = {o.pk: o for o in build.openings.all()}
    known.stations = {fold(s.name): s for s in build.stations.order_by("position")}
    known.people = {fold(p.display_name): p for p in build.people.order_by("-pk")}
    known.instruments = {fold(i.name): i for i in build.instruments.prefetch_related("epochs")}
    _plan(known)
    if kind in READING_KIND:
        _readings(known, READING_KIND[kind])
    return known


def _plan(known):
    """A strake is found by its label in the plan in force, else in the newest revision that has it."""
    revisions = PlanRevision.objects.filter(build=known.build, number__isnull=False)
    in_force = revisions.filter(state=PlanRevision.State.IN_FORCE).first()
    plans = PlanStrake.objects.filter(revision__in=revisions).select_related("strake").order_by("revision__number")
    locked = set(
        Plank.objects.filter(strake__opening__build=known.build, state__in=Plank.IN_PLACE).values_list(
            "strake_id", flat=True
        )
    )
    for plan in plans:
        known.strakes[plan.opening_id, fold(plan.label)] = KnownStrake(
            plan.strake_id, plan.strake.uuid, plan.label, plan.opening_id, plan.strake_id in locked
        )
    for plan in plans:
        if in_force and plan.revision_id == in_force.pk:
            known.strakes[plan.opening_id, fold(plan.label)] = KnownStrake(
                plan.strake_id, plan.strake.uuid, plan.label, plan.opening_id, plan.strake_id in locked
            )
            known.plan_now[plan.opening_id, fold(plan.label)] = {}
    _widths(known, revisions, in_force)
    girths = PlanGirth.objects.filter(plan_opening__revision=in_force) if in_force else PlanGirth.objects.none()
    rows = girths.values_list("plan_opening__opening_id", "station_id", "girth_nm")
    known.girths = {(opening, station): nm for opening, station, nm in rows}


def _widths(known, revisions, in_force):
    widths = PlanWidth.objects.filter(plan_strake__revision__in=revisions).order_by("plan_strake__revision__number")
    rows = widths.values_list(
        "plan_strake__strake_id", "station_id", "width_nm", "plan_strake__revision_id", "plan_strake__opening_id",
        "plan_strake__label",
    )  # fmt: skip
    for strake, station, nm, revision, opening, label in rows:
        known.planned[strake, station] = nm
        if in_force and revision == in_force.pk:
            known.plan_now[opening, fold(label)][station] = nm


def _readings(known, kind):
    rows = Reading.objects.filter(build=known.build).values_list(
        "kind", "opening_id", "strake_id", "station_id", "value_nm", "happened_at", "uuid", "client_uuid",
        "amendment__act", "amendment__reason",
    )  # fmt: skip
    offs = []
    for of_kind, opening, strake, station, nm, at, own, client, act, reason in rows:
        known.sent[client] = act == Amendment.Act.WITHDRAWS and reason == IMPORT_UNDONE
        if of_kind != kind:
            continue
        if act == Amendment.Act.WITHDRAWS and reason == IMPORT_UNDONE:
            continue
        known.readings[own] = nm
        if act not in (Amendment.Act.WITHDRAWS, Amendment.Act.REPLACES) and nm is not None:
            known.standing.setdefault((opening, strake, station), []).append((nm, at))
            plan = known.planned.get((strake, station))
            if plan and abs(nm - plan) * 4 < plan:
                offs.append(nm - plan)
    if kind == Reading.Kind.WIDTH and len(offs) >= LEAST_FOR_A_SPREAD:
        mean = sum(offs) / len(offs)
        spread = (sum((off - mean) ** 2 for off in offs) / (len(offs) - 1)) ** 0.5
        known.usual_nm = round(abs(mean) + 3 * spread)


def imports_of(build) -> list[TableImport]:
    """Return what was sent in, the newest first, without the tables themselves."""
    return list(TableImport.objects.filter(build=build).defer("text").select_related("by", "revision")[:20])
