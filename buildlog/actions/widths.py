"""Recording one strake's widths: every figure once, the plank cut or hung along with them."""

from dataclasses import dataclass, field

from django.db import transaction

from buildlog.models import Plank, PlankStep, PlanPlank, Reading
from buildlog.queries.last_things import standing_steps

from .conflict import Conflict, NotPossible
from .events import raise_serial
from .planks import came_out_since, cut_strake, hang_strake
from .readings import epoch_at, record_new_readings, record_reading
from .sessions import session_for

# A length carried off a hung plank by dividers is this doubtful, whatever it is then read with (nm).
U_BY_DIVIDERS_NM = 150_000


@dataclass
class Saved:
    """What one post came to: readings kept (the same ones again after a lost answer), and takes that met another
    reading under their name."""

    readings: dict = field(default_factory=dict)
    created: set = field(default_factory=set)
    conflicts: dict = field(default_factory=dict)

    def keep(self, name, record):
        """Run one recording; a Conflict is kept beside the take that met it."""
        try:
            reading, created = record()
        except Conflict as conflict:
            self.conflicts[name] = conflict
            return
        self.readings[name] = reading
        if created:
            self.created.add(name)

    def keep_all(self, build, rows, **times):
        """Record rows, ``(client_uuid, fields)`` by the name of their take: at once where all are new."""
        made = record_new_readings(build, rows.values(), **times)
        if made is not None:
            self.readings = dict(zip(rows, made, strict=True))
            self.created = set(rows)
            return
        for name, (client_uuid, fields) in rows.items():
            self.keep(
                name,
                lambda client_uuid=client_uuid, fields=fields: record_reading(
                    build, client_uuid=client_uuid, raises=False, **times, **fields
                ),
            )


def record_widths(
    build,
    strake,
    takes,
    *,
    damp,
    stage,
    method,
    instrument,
    person,
    account,
    now,
    happened_at=None,
    known_at=None,
    set_widths=None,
):
    """Record the widths of a strake and return what was ``Saved``.

    Widths of a cut plank mean that it is cut, widths of a hung one that it hangs: the step is taken with them.
    """
    saved = Saved()
    known = dict(
        Reading.objects.filter(build=build, client_uuid__in=[take.client_uuid for take in takes]).values_list(
            "client_uuid", "plank_id"
        )
    )
    with transaction.atomic():
        session = session_for(
            build, person=person, now=now, side=strake.opening.side, happened_at=happened_at
        )
        planks = None
        if any(take.client_uuid not in known and take.length for take in takes):
            planks = _take_in_hand(
                strake, stage, person=person, session=session, now=now, happened_at=happened_at,
                set_widths=set_widths,
            )  # fmt: skip
        plank_at, epoch = planks_by_station(strake, planks), epoch_at(instrument, happened_at or now)
        rows = {}
        for take in takes:
            plank_pk = known[take.client_uuid] if take.client_uuid in known else plank_at(take.station)
            rows[take.name] = take.client_uuid, {
                "kind": Reading.Kind.WIDTH, "opening": strake.opening, "strake": strake, "plank_id": plank_pk,
                "station": take.station, "session": session, "person": person, "entered_by": account, "epoch": epoch,
            } | _fields(take, damp=damp, stage=stage, method=method, instrument=instrument)  # fmt: skip
        saved.keep_all(build, rows, now=now, happened_at=happened_at, known_at=known_at)
        if saved.created:
            raise_serial(strake.opening)
    return saved


def _fields(take, *, damp, stage, method, instrument):
    length = take.length
    return {
        "value_nm": length.nm if length else None, "typed": length.typed[:40] if length else "",
        "unit": length.unit if length else "", "size": length.size if length else "model",
        "missing_reason": take.missing_reason, "kept_reason": take.kept_reason, "damp": damp, "stage": stage,
        "method": method, "instrument": instrument,
        "u_nm": U_BY_DIVIDERS_NM if method == Reading.Method.DIVIDERS else None,
    }  # fmt: skip


def _take_in_hand(strake, stage, *, person, session, now, happened_at, set_widths):
    """Cut or hang the strake with its first figures and return its planks in place.

    One that the plan in force leaves out is only measured; so is a plank that came out of the hull since it was read.
    """
    if happened_at and came_out_since(strake, happened_at):
        return _in_place_at(strake, happened_at)
    step = hang_strake if stage == Reading.Stage.HUNG else cut_strake
    try:
        return step(
            strake, person=person, now=now, session=session, happened_at=happened_at, set_widths=set_widths
        )
    except NotPossible:
        return None


def _in_place_at(strake, moment) -> list[Plank]:
    """Return the planks of a strake that were in place at a moment, whatever became of them."""
    by_plank: dict[int, list[PlankStep]] = {}
    steps = PlankStep.objects.filter(plank__strake=strake, happened_at__lte=moment).select_related("plank")
    for step in steps.order_by("happened_at", "pk"):
        by_plank.setdefault(step.plank_id, []).append(step)
    last = [stack[-1] for stack in map(standing_steps, by_plank.values()) if stack]
    return [step.plank for step in last if step.state in Plank.IN_PLACE]


def planks_by_station(strake, planks=None):
    """Return a function from a station to the pk of the plank that spans it, None where that is not known.

    ``planks`` are those of the strake in place, where the caller has them.
    """
    planks = strake.planks.filter(state__in=Plank.IN_PLACE) if planks is None else planks
    planks = {plank.number: plank for plank in planks}
    if not planks:
        return lambda station: None
    if len(planks) == 1:
        only = next(iter(planks.values())).pk
        return lambda station: only
    revision = next(iter(planks.values())).revision_id
    spans = list(
        PlanPlank.objects.filter(plan_strake__strake=strake, plan_strake__revision=revision)
        .order_by("order")
        .values_list("order", "from_frame__number", "to_frame__number")
    )
    frames = dict(strake.opening.build.frames.values_list("pk", "number"))

    def plank_at(station):
        if station.frame_id is None:
            return None
        number = frames[station.frame_id]
        for order, *ends in spans:
            if min(ends) <= number <= max(ends) and order in planks:
                return planks[order].pk
        return None

    return plank_at
