"""New widths put in force: a copy of the plan in which the strakes not in hand share the gap anew."""

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from buildlog.models import Opening, Plank, PlanOpening, PlanStrake, PlanWidth, Strake

from .conflict import Conflict, NotPossible
from .events import hold_build
from .planks import revision_in_force
from .plans import copy_revision, plan_opening, put_in_force
from .revisions import propose

SUFFIXES = "abcdefghijklmnopqrstuvwxyz"


def put_new_widths(opening, widths, *, serial, seam_nm, reason, person, now, left_out=(), added=0, propose_it=False):
    """Put new widths in force as the next revision and return it; with ``propose_it`` hand it to the owner instead.

    ``widths`` maps stations to {strake pk: nm}, a key below zero being a strake that is new. ``serial`` is
    the one the answer was made from: a reading or a hung strake since then makes it a Conflict instead.
    """
    with transaction.atomic():
        hold_build(opening.build)
        _same_facts(opening, serial)
        standing = revision_in_force(opening.build)
        if standing is None:
            raise NotPossible(_("There is no plan in force to change."))
        _must_be_open(opening, widths, left_out)
        revision = copy_revision(standing, reason=reason, person=person, now=now)
        PlanStrake.objects.filter(revision=revision, strake__in=left_out).delete()
        new = _add_strakes(revision, opening, added)
        _write_widths(revision, widths, new)
        _close(revision, opening, seam_nm)
        if propose_it:
            return propose(revision, revision.version, reason=reason, person=person, now=now)
        return put_in_force(revision, person=person, now=now)


def _same_facts(opening, serial):
    """Nothing may have been read, hung or put in force since the answer was made."""
    if not Opening.objects.select_for_update(no_key=True).filter(pk=opening.pk, serial=serial).exists():
        raise Conflict(
            _("Something was read, hung or changed on this side since. Look at the widths as they are now."),
            theirs=Opening.objects.get(pk=opening.pk),
        )


def _must_be_open(opening, widths, left_out):
    pks = {pk for by_strake in widths.values() for pk in by_strake if pk > 0} | set(left_out)
    if Plank.objects.filter(strake__in=pks, state__in=Plank.IN_PLACE).exists():
        raise Conflict(_("One of these strakes was taken in hand a moment ago."), theirs=opening)


def _add_strakes(revision, opening, added) -> dict[int, PlanStrake]:
    """Add strakes beside the closing one, on its wale side where two runs meet; return them by their keys."""
    if not added:
        return {}
    plans = PlanStrake.objects.filter(revision=revision, opening=opening)
    closing = plans.filter(run=PlanStrake.Run.CLOSING).first() or plans.order_by("-position").first()
    runs = set(plans.exclude(pk=closing.pk).values_list("run", flat=True))
    run = PlanStrake.Run.WALE if PlanStrake.Run.WALE in runs or not runs else PlanStrake.Run.KEEL
    first = closing.position + 1 if run == PlanStrake.Run.WALE else closing.position
    _move_up(plans, first, added)
    used = set(PlanStrake.objects.filter(opening=opening).values_list("label", flat=True))
    made = {}
    for number in range(1, added + 1):
        label = next(f"{closing.label}{s}" for s in SUFFIXES if f"{closing.label}{s}" not in used)
        used.add(label)
        made[-number] = PlanStrake.objects.create(
            revision=revision, opening=opening, strake=Strake.objects.create(opening=opening),
            belt=closing.belt, label=label, position=first + number - 1, run=run,
        )  # fmt: skip
    return made


def _move_up(plans, first, added):
    """Make room in the count from the keel side; from the far end, so that no two ever share a place."""
    for plan in plans.filter(position__gte=first).order_by("-position"):
        PlanStrake.objects.filter(pk=plan.pk).update(position=F("position") + added)


def _write_widths(revision, widths, new):
    plans = {plan.strake_id: plan for plan in revision.strakes.all()} | new
    for station, by_strake in widths.items():
        for key, width_nm in by_strake.items():
            PlanWidth.objects.update_or_create(
                plan_strake=plans[key], station=station,
                defaults={"width_nm": width_nm, "typed": "", "unit": ""},
                create_defaults={"width_nm": width_nm},
            )  # fmt: skip


def _close(revision, opening, seam_nm):
    """Let every station close to zero: its girth is its widths and its seams."""
    plan = PlanOpening.objects.filter(revision=revision, opening=opening).first()
    plan = plan or plan_opening(revision, opening)
    PlanOpening.objects.filter(pk=plan.pk).update(planned_seam_nm=seam_nm)
    ends = (opening.keel_edge == Opening.Edge.FIXED) + (opening.wale_edge == Opening.Edge.FIXED)
    rows = PlanWidth.objects.filter(plan_strake__revision=revision, plan_strake__opening=opening)
    by_station: dict[int, list[int]] = {}
    for station, width_nm in rows.values_list("station_id", "width_nm"):
        by_station.setdefault(station, []).append(width_nm)
    behind = _hung_without_widths(revision, opening)
    for station, here in by_station.items():
        girth_nm = sum(here) + max(0, len(here) + behind - 1 + ends) * seam_nm
        _close_one(plan, station, girth_nm)


def _close_one(plan, station, girth_nm):
    girth = plan.girths.filter(station_id=station).first()
    if girth is None:
        plan.girths.create(station_id=station, girth_nm=girth_nm)
    elif girth.girth_nm != girth_nm:
        girth.lined_off_nm = girth.lined_off_nm or girth.girth_nm
        girth.girth_nm = girth_nm
        girth.save(update_fields=["girth_nm", "lined_off_nm"])


def _hung_without_widths(revision, opening) -> int:
    """Strakes hung before this log have no planned width; their seams are in the opening all the same."""
    behind = PlanStrake.objects.filter(
        revision=revision, opening=opening, widths__isnull=True,
        strake__planks__measured=Plank.Measured.BEFORE_LOG, strake__planks__state__in=Plank.IN_PLACE,
    )  # fmt: skip
    return behind.distinct().count()
