"""A table taken in: kept as sent, taken in whole or not at all, undone as one."""

from datetime import timedelta

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from buildlog.models import Amendment, Plank, PlankStep, PlanRevision, Reading, Strake, TableImport
from buildlog.queries.last_things import standing_steps
from buildlog.queries.table_imports import IMPORT_UNDONE
from buildlog.queries.tables import READING_KIND

from .conflict import Conflict, NotPossible
from .events import hold_build, raise_serial, tell_event
from .planks import cut_strake, hang_strake
from .plans import delete_revision
from .readings import content_digest
from .table_plans import draft_of_table
from .undo import step_back
from .widths import U_BY_DIVIDERS_NM, planks_by_station

DRAFTS_KEPT = timedelta(days=7)
_AT_ONCE = 500


def keep_table(build, *, kind, name, text, matches, person, account, now) -> TableImport:
    """Keep a table that was sent in until it is taken in or thrown away."""
    return TableImport.objects.create(
        build=build, by=person, account=account, kind=kind, name=name, text=text, matches=matches, made_at=now
    )


def match_table(table, matches) -> None:
    """Keep what the builder says of the columns; one taken in meanwhile stays as it was."""
    TableImport.objects.filter(pk=table.pk, state=TableImport.State.DRAFT).update(
        matches=matches, kind=matches["kind"]
    )


def forget_old_tables(*, now) -> int:
    """Delete tables that were sent in a week ago and never taken in."""
    old = TableImport.objects.filter(state=TableImport.State.DRAFT, made_at__lt=now - DRAFTS_KEPT)
    return old.delete()[0]


def throw_away_table(table) -> None:
    TableImport.objects.filter(pk=table.pk, state=TableImport.State.DRAFT).delete()


def _held_draft(table) -> TableImport:
    held = TableImport.objects.select_for_update().filter(pk=table.pk).first()
    if held is None or held.state != TableImport.State.DRAFT:
        raise Conflict(_("This table was taken in or thrown away already."), theirs=held)
    return held


def take_in_readings(table, readings, *, left_out, standing, person, account, now) -> TableImport:
    """Take in the readings of a table in one transaction; those that came in meanwhile are passed over."""
    if not readings:
        raise NotPossible(_("There is nothing new in this table."))
    try:
        with transaction.atomic():
            hold_build(table.build)
            held = _held_draft(table)
            taken = _Taking(held, readings, standing, person, account, now).take()
            _close(held, taken | {"left_out": left_out}, now)
            tell_event("taken in", held, build=held.build, now=now, person=person, account=account,
                       after={"kind": held.kind, "readings": len(taken["readings"])})  # fmt: skip
    except IntegrityError:
        raise Conflict(_("Somebody recorded the same readings at this moment. Look at the list again.")) from None
    return held


def take_in_plan(table, change, *, left_out, person, account, now) -> TableImport:
    """Make a draft revision of a table of planned widths."""
    if not change.count:
        raise NotPossible(_("This table says what the plan in force says; there is nothing to change."))
    with transaction.atomic():
        hold_build(table.build)
        held = _held_draft(table)
        name = held.name or _("a table")
        held.revision = draft_of_table(held.build, change, reason=_("from %(name)s") % {"name": name}, person=person,
                                       now=now)  # fmt: skip
        _close(held, {"widths": change.count, "left_out": left_out}, now)
        tell_event("drafted", held.revision, build=held.build, now=now, person=person, account=account,
                   after={"table": str(held.uuid), "widths": change.count})  # fmt: skip
    return held


def _close(held, result, now):
    held.state, held.text, held.result, held.taken_at = TableImport.State.TAKEN, "", result, now
    held.save(update_fields=["state", "text", "result", "taken_at", "revision"])


class _Taking:
    """One taking in; a reading of a table belongs to no session, since nobody sat at the bench for it."""

    def __init__(self, table, readings, standing, person, account, now):
        self.build, self.kind = table.build, READING_KIND[table.kind]
        self.standing, self.person, self.account, self.now = standing, person, account, now
        names = [one.client_uuid for one in readings]
        there = set()
        for start in range(0, len(names), _AT_ONCE):
            some = names[start : start + _AT_ONCE]
            rows = Reading.objects.filter(build=self.build, client_uuid__in=some)
            there |= set(rows.values_list("client_uuid", flat=True))
        self.readings = [one for one in readings if one.client_uuid not in there]
        self.openings = {o.pk: o for o in self.build.openings.all()}
        self.epochs = {i.pk: list(i.epochs.order_by("number")) for i in self.build.instruments.all()}

    def take(self) -> dict:
        steps = self._take_in_hand() if self.kind == Reading.Kind.WIDTH else []
        plank_at = self._planks()
        rows = [self._row(one, plank_at(one)) for one in self.readings]
        Reading.objects.bulk_create(rows, batch_size=_AT_ONCE)
        raise_serial(*(self.openings[one.opening] for one in self.readings))
        return {"readings": [str(row.uuid) for row in rows], "steps": steps}

    def _take_in_hand(self) -> list[str]:
        """Cut or hang the strakes that were read, in the order of their reading."""
        if self.standing == "none":
            return []
        before = PlankStep.objects.order_by("-pk").values_list("pk", flat=True).first() or 0
        last, hung = {}, set()
        for one in sorted(self.readings, key=lambda one: one.happened_at):
            last.pop(one.strake, None)
            last[one.strake] = one.happened_at
            if one.stage == Reading.Stage.HUNG:
                hung.add(one.strake)
        strakes = Strake.objects.filter(opening__build=self.build).select_related("opening__build").in_bulk(list(last))
        for pk, happened_at in last.items():
            self._move(strakes[pk], pk in hung, happened_at)
        steps = PlankStep.objects.filter(pk__gt=before, plank__strake__opening__build=self.build)
        return [str(one) for one in steps.order_by("pk").values_list("uuid", flat=True)]

    def _move(self, strake, was_hung, happened_at):
        times = {"person": self.person, "now": self.now, "happened_at": happened_at}
        try:
            if self.standing == "before_log":
                hang_strake(strake, measured=Plank.Measured.BEFORE_LOG, **times)
            elif self.standing == "hung" or was_hung:
                hang_strake(strake, **times)
            else:
                cut_strake(strake, **times)
        except (Conflict, NotPossible):
            return  # Not in the plan in force, or off since it was read: its widths are kept, and it stays as it is.

    def _planks(self):
        if self.kind != Reading.Kind.WIDTH:
            return lambda one: None
        strakes = Strake.objects.in_bulk({one.strake for one in self.readings})
        stations = {s.pk: s for s in self.build.stations.select_related("frame")}
        plank_at = {pk: planks_by_station(strake) for pk, strake in strakes.items()}
        found: dict[tuple, int | None] = {}

        def at(one):
            key = (one.strake, one.station)
            if key not in found:
                found[key] = plank_at[one.strake](stations[one.station])
            return found[key]

        return at

    def _row(self, one, plank_pk) -> Reading:
        opening = self.openings[one.opening]
        is_gap = self.kind == Reading.Kind.GAP
        reading = Reading(
            build=self.build, client_uuid=one.client_uuid, kind=self.kind, opening=opening, strake_id=one.strake,
            plank_id=plank_pk, station_id=one.station, value_nm=one.nm, typed=one.typed, unit=one.unit, size=one.size,
            kept_reason=one.remark, method=one.method, damp=one.damp, stage=one.stage, person_id=one.person,
            instrument_id=one.instrument, epoch=self._epoch(one), entered_by=self.account,
            from_line=opening.keel_line if is_gap else "", to_line=opening.wale_line if is_gap else "",
            u_nm=U_BY_DIVIDERS_NM if one.method == "dividers" and self.kind == Reading.Kind.WIDTH else None,
            happened_at=one.happened_at, known_at=self.now, received_at=self.now,
        )  # fmt: skip
        reading.content_sha256 = content_digest(reading)
        return reading

    def _epoch(self, one):
        epochs = self.epochs.get(one.instrument) or []
        started = [epoch for epoch in epochs if epoch.starts_at <= one.happened_at]
        return (started or epochs or [None])[-1 if started else 0]


# --- undo ----------------------------------------------------------------------------------------------------


def undo_table(table, *, person, account, now) -> TableImport:
    """Take a whole import back: its readings are withdrawn, its planks step back, its draft is thrown away."""
    with transaction.atomic():
        hold_build(table.build)
        held = TableImport.objects.select_for_update().get(pk=table.pk)
        if held.state != TableImport.State.TAKEN:
            raise Conflict(_("This table was undone already."), theirs=held)
        kept = _undo_plan(held) if held.kind == "plan" else _undo_readings(held, person, now)
        held.state, held.undone_at = TableImport.State.UNDONE, now
        held.result = held.result | {"kept": kept}
        held.save(update_fields=["state", "undone_at", "result", "revision"])
        tell_event("undone", held, build=held.build, now=now, person=person, account=account, after={"kept": kept})
    return held


def _undo_plan(held) -> int:
    revision = held.revision
    if revision is not None and revision.state != PlanRevision.State.DRAFT:
        raise NotPossible(_("The plan of this table is proposed or in force by now; it stays."))
    if revision is not None:
        held.revision = None
        held.save(update_fields=["revision"])
        delete_revision(revision)
    return 0


def _undo_readings(held, person, now) -> int:
    """Withdraw what nobody amended since; return how many readings and planks somebody went on with."""
    names, kept, openings = held.result.get("readings", []), 0, set()
    for start in range(0, len(names), _AT_ONCE):
        some = names[start : start + _AT_ONCE]
        rows = Reading.objects.filter(build=held.build, uuid__in=some, amendment=None).select_related("opening")
        targets = list(rows)
        kept += len(some) - len(targets)
        openings |= {row.opening for row in targets}
        Amendment.objects.bulk_create([
            Amendment(target=row, act=Amendment.Act.WITHDRAWS, reason=IMPORT_UNDONE, person=person, happened_at=now,
                      known_at=now, received_at=now)
            for row in targets
        ])  # fmt: skip
    raise_serial(*openings)
    return kept + _step_back(held, person, now)


def _step_back(held, person, now) -> int:
    kept = 0
    steps = PlankStep.objects.filter(
        uuid__in=held.result.get("steps", []), plank__strake__opening__build=held.build
    ).select_related("plank__strake__opening__build")
    for step in steps.order_by("-pk"):
        standing = standing_steps(step.plank.steps.order_by("pk"))
        if standing and standing[-1].pk == step.pk:
            step_back(step, person=person, now=now)
        else:
            kept += 1
    return kept
