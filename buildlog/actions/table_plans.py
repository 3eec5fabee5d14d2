"""A draft revision made of a table of planned widths."""

from django.db.models import F

from buildlog.models import PlanGirth, PlanRevision, PlanStrake, PlanWidth, Strake

from .plans import copy_revision, draft_revision, plan_belt, plan_opening, plan_strake


def draft_of_table(build, change, *, reason, person, now) -> PlanRevision:
    """Return a draft that says what the plan in force says, but for what the table changes."""
    in_force = PlanRevision.objects.filter(build=build, state=PlanRevision.State.IN_FORCE).first()
    if in_force:
        revision = copy_revision(in_force, reason=reason, person=person, now=now)
    else:
        revision = draft_revision(build, reason=reason, person=person, now=now)
    openings = {o.pk: o for o in build.openings.all()}
    plans = {p.opening_id: p for p in revision.openings.all()}
    for pk in {line.opening for line in change.lines.values()} | {pk for pk, _station in change.girths}:
        plans.setdefault(pk, None)
        plans[pk] = plans[pk] or plan_opening(revision, openings[pk])
    for (pk, station), nm in change.girths.items():
        PlanGirth.objects.update_or_create(plan_opening=plans[pk], station_id=station, defaults={"girth_nm": nm})
    _write_known(revision, [line for line in change.lines.values() if not line.is_new])
    for line in sorted((one for one in change.lines.values() if one.is_new), key=lambda one: one.position):
        _write_new(revision, openings[line.opening], line)
    return revision


def _fields(length) -> dict:
    return {"width_nm": length.nm, "typed": length.typed[:40], "unit": length.unit[:8], "size": length.size}


def _write_known(revision, lines):
    plans = {(p.opening_id, _fold(p.label)): p for p in revision.strakes.all()}
    widths = {(w.plan_strake_id, w.station_id): w for w in PlanWidth.objects.filter(plan_strake__revision=revision)}
    changed, new = [], []
    for line in lines:
        plan = plans[line.opening, _fold(line.label)]
        for station, length in line.widths.items():
            width = widths.get((plan.pk, station))
            if width is None:
                new.append(PlanWidth(plan_strake=plan, station_id=station, **_fields(length)))
                continue
            for name, value in _fields(length).items():
                setattr(width, name, value)
            changed.append(width)
    PlanWidth.objects.bulk_update(changed, ["width_nm", "typed", "unit", "size"], batch_size=200)
    PlanWidth.objects.bulk_create(new)


def _fold(label: str) -> str:
    return " ".join(label.split()).casefold()


def _write_new(revision, opening, line):
    strake = Strake.objects.create(opening=opening)
    _make_room(revision, opening, line.position)
    belt = _belt(revision, opening, line.belt) if line.belt else None
    plan = plan_strake(revision, strake, label=line.label, position=line.position, run=line.run, widths_nm={},
                       belt=belt, kind=line.kind, spans=line.spans)  # fmt: skip
    PlanWidth.objects.bulk_create(
        [PlanWidth(plan_strake=plan, station_id=pk, **_fields(length)) for pk, length in line.widths.items()]
    )


def _make_room(revision, opening, position):
    """Move the strakes from this place on one place towards the wale, the last first."""
    plans = PlanStrake.objects.filter(revision=revision, opening=opening)
    if not plans.filter(position=position).exists():
        return
    for plan in plans.filter(position__gte=position).order_by("-position"):
        PlanStrake.objects.filter(pk=plan.pk).update(position=F("position") + 1)


def _belt(revision, opening, name):
    belts = list(revision.belts.filter(opening=opening).order_by("position"))
    found = next((belt for belt in belts if belt.name == name), None)
    position = belts[-1].position + 1 if belts else 1
    return found or plan_belt(revision, opening, name=name, position=position)
