"""A build begun and set up: name, scale, sides, stations, and what the first run was told before there was a
plan.
"""

import uuid
from datetime import datetime

from django.conf import settings
from django.db import IntegrityError, transaction
from django.db.models import F, ProtectedError
from django.utils.translation import gettext as _

from buildlog.models import (
    Build,
    Frame,
    Instrument,
    Membership,
    Opening,
    Person,
    PlanRevision,
    PlanWidth,
    Size,
    Station,
)

from .conflict import Conflict, NotPossible
from .events import raise_serials_of_build, tell_event
from .instruments import add_instrument

FRESH = {"runs": "both", "layers": 1}


def start_build(account, *, name, now: datetime, photographs_only=False, build_uuid=None, time_zone=""):
    """Begin a build: its first person is its owner, and a caliper and paper strips are in the register.

    The same ``build_uuid`` from the same account gives back the build that it began.
    """
    build_uuid = build_uuid or uuid.uuid4()
    begun = Build.objects.filter(uuid=build_uuid, memberships__account=account).first()
    if begun:
        return begun
    try:
        with transaction.atomic():
            return _start(account, build_uuid, name, photographs_only, time_zone or settings.TIME_ZONE, now)
    except IntegrityError:
        raise Conflict(_("This build was begun a moment ago.")) from None


def _start(account, build_uuid, name, photographs_only, time_zone, now):
    build = Build.objects.create(
        uuid=build_uuid, name=name, photographs_only=photographs_only, time_zone=time_zone, created_at=now,
        set_up_at=now if photographs_only else None, first_run=dict(FRESH),
    )  # fmt: skip
    Membership.objects.create(build=build, account=account, role=Membership.Role.OWNER, since=now)
    person = Person.objects.create(build=build, account=account, display_name=account.sign_in_name)
    kinds = Instrument.Kind
    add_instrument(build, name=_("Caliper"), kind=kinds.CALIPER, person=person, now=now, owner=person)
    add_instrument(
        build, name=_("Paper strip"), kind=kinds.STRIP, person=person, now=now, resolution_nm=100_000
    )
    account.last_build = build
    account.save(update_fields=["last_build"])
    tell_event("started", build, build=build, now=now, person=person, account=account)
    return build


def has_plan(build) -> bool:
    return PlanRevision.objects.filter(build=build, state=PlanRevision.State.IN_FORCE).exists()


def _change(build, version, **changes):
    """Change a build that still stands as ``version``; a newer one is a Conflict that carries it."""
    seen = Build.objects.filter(pk=build.pk, version=version)
    if not seen.update(version=F("version") + 1, **changes):
        theirs = Build.objects.get(pk=build.pk)
        raise Conflict(_("Somebody changed this build while you wrote."), theirs=theirs)
    build.refresh_from_db()
    return build


@transaction.atomic
def name_build(build, version, *, name, photographs_only, person, now):
    """Name a build anew. One that was photographs only goes on to its first run; one with a plan keeps it."""
    if photographs_only and has_plan(build):
        raise NotPossible(_("This build has a plan, so it cannot be photographs only."), field="kind")
    before = {"name": build.name, "photographs_only": build.photographs_only}
    changes = {"name": name, "photographs_only": photographs_only}
    if photographs_only:
        changes["set_up_at"] = build.set_up_at or now
    elif build.photographs_only:
        changes["set_up_at"] = None
    _change(build, version, **changes)
    tell_event("named", build, build=build, now=now, person=person, before=before,
               after={"name": name, "photographs_only": photographs_only})  # fmt: skip


@transaction.atomic
def set_scale(build, version, *, scale, reading_unit, person, now):
    """Set the scale (``planking`` Scale, or None) and what the caliper reads.

    Readings and widths are lengths on the model and stay as they are. Widths that were typed at full size
    would be other lengths at another scale, so a plan that holds some must be laid out anew first.
    """
    new = (scale.numerator, scale.denominator) if scale else (None, None)
    old = (build.scale_num, build.scale_den)
    if new != old and _plan_has_full_size_widths(build):
        raise NotPossible(
            _("Scale: the plan in force holds widths typed at full size, which would be other widths then."),
            field="scale",
        )
    before = {"scale": build.scale_text, "reading_unit": build.reading_unit}
    first_run = build.first_run | {"scale_told": True}
    _change(
        build, version, scale_num=new[0], scale_den=new[1], reading_unit=reading_unit, first_run=first_run
    )
    _let_caliper_read(build, reading_unit)
    tell_event("scaled", build, build=build, now=now, person=person, before=before,
               after={"scale": build.scale_text, "reading_unit": reading_unit})  # fmt: skip


def _plan_has_full_size_widths(build) -> bool:
    return PlanWidth.objects.filter(
        plan_strake__revision__build=build,
        plan_strake__revision__state=PlanRevision.State.IN_FORCE,
        size=Size.FULL,
    ).exists()


def _let_caliper_read(build, reading_unit):
    """The caliper that came with the build reads what the builder said; others were entered by hand."""
    resolution = {"mm": 10_000, "in": 12_700, "64ths": 396_875}[reading_unit]
    first = build.instruments.filter(kind=Instrument.Kind.CALIPER).order_by("pk").first()
    if first and first.reading_unit != reading_unit:
        Instrument.objects.filter(pk=first.pk).update(
            reading_unit=reading_unit, resolution_nm=resolution, version=F("version") + 1
        )


def _must_be_before_the_plan(build):
    if has_plan(build):
        raise NotPossible(_("There is a plan in force; it is changed by a new revision, on the page Plan."))


@transaction.atomic
def set_sides(build, version, *, sides, layers, layer, runs, person, now):
    """Say which sides are planked, in which layer, and from where; make their openings."""
    _must_be_before_the_plan(build)
    first_run = build.first_run | {"layers": layers, "runs": runs}
    _change(build, version, sides=sides, first_run=first_run)
    _let_go(Opening.objects.filter(build=build).exclude(side__in=build.side_list))
    for side in build.side_list:
        opening, made = Opening.objects.get_or_create(build=build, side=side, defaults={"layer": layer})
        if not made and opening.layer != layer:
            opening.layer = layer
            opening.save(update_fields=["layer"])
    tell_event("set sides", build, build=build, now=now, person=person,
               after={"sides": sides, "layers": layers, "layer": layer, "runs": runs})  # fmt: skip


@transaction.atomic
def set_station_count(build, version, *, count, frame_word, person, now):
    """Say how many stations there are and what they are called; rows are made when they have names."""
    _must_be_before_the_plan(build)
    first_run = build.first_run | {"count": count}
    if count != build.first_run.get("count"):
        # The gaps were typed for other stations.
        first_run.pop("gaps", None)
        first_run.pop("left_at", None)
    _change(build, version, frame_word=frame_word, first_run=first_run)
    if build.stations.exists() and build.stations.count() != count:
        _drop_stations(build)
    tell_event("set stations", build, build=build, now=now, person=person,
               after={"count": count, "word": frame_word})  # fmt: skip


def _drop_stations(build):
    _let_go(build.stations.all())
    _let_go(build.frames.all())


def _let_go(rows):
    """Delete what the first run made and now makes otherwise, unless something was read there since."""
    try:
        rows.delete()
    except ProtectedError:
        raise NotPossible(_("Something was read there already, so it stays as it is.")) from None


@transaction.atomic
def name_stations(build, version, *, names, dead_flat, distances_nm, person, now):
    """Name the stations forward to aft; ``dead_flat`` is the index of the widest one.

    ``distances_nm`` lie between neighbours. Before there is a plan the rows are made, each with its frame
    (numbered from dead flat), so that spans and butts have a home; with one, only names and distances change.
    """
    stations = list(build.stations.order_by("position"))
    if not stations:
        _must_be_before_the_plan(build)
    elif len(stations) != len(names):
        raise NotPossible(_("The number of stations cannot change while a plan stands."))
    before = {"names": [station.name for station in stations]}
    _change(build, version)
    places = _places(distances_nm, dead_flat)
    if not stations:
        _make_stations(build, names, dead_flat, places)
    else:
        _rename_stations(build, stations, names, dead_flat, places)
    raise_serials_of_build(build)
    tell_event("named stations", build, build=build, now=now, person=person, before=before,
               after={"names": list(names)})  # fmt: skip


def _places(distances_nm, dead_flat):
    """Return how far aft of dead flat each station lies, or None where no distances were given."""
    if not distances_nm:
        return None
    along = [0]
    for distance in distances_nm:
        along.append(along[-1] + distance)
    return [place - along[dead_flat] for place in along]


def _make_stations(build, names, dead_flat, places):
    for index, name in enumerate(names):
        x_nm = places[index] if places else None
        frame = Frame.objects.create(build=build, number=index - dead_flat, x_nm=x_nm, name=name)
        Station.objects.create(
            build=build,
            frame=frame,
            name=name,
            position=index + 1,
            x_nm=x_nm,
            is_dead_flat=index == dead_flat,
        )


def _rename_stations(build, stations, names, dead_flat, places):
    """Two names may change places, so every row is moved out of the way of the unique rules first."""
    planned = has_plan(build)
    for station in stations:
        Station.objects.filter(pk=station.pk).update(name=f"·{station.pk}")
        if not planned and station.frame_id:
            Frame.objects.filter(pk=station.frame_id).update(number=1_000_000 + station.pk)
    for index, station in enumerate(stations):
        x_nm = places[index] if places else station.x_nm if planned else None
        Station.objects.filter(pk=station.pk).update(
            name=names[index], x_nm=x_nm, is_dead_flat=index == dead_flat, version=F("version") + 1
        )
        frame = {"name": names[index], "x_nm": x_nm}
        if not planned:
            frame["number"] = index - dead_flat
        Frame.objects.filter(pk=station.frame_id).update(**frame)


@transaction.atomic
def tell_planking(build, version, *, planking, stock_width, stock_width_nm, left_at, person, now):
    """Keep how many strakes hang already and how many are left, side by side, before there is a plan."""
    _must_be_before_the_plan(build)
    first_run = build.first_run | {"planking": planking, "stock": stock_width, "left_at": left_at}
    _change(build, version, first_run=first_run)
    build.openings.update(stock_width_nm=stock_width_nm)


@transaction.atomic
def tell_gaps(build, version, *, side, gaps, now):
    """Keep the gaps of one side as typed; they become readings when the plan made of them is put in force."""
    _must_be_before_the_plan(build)
    told = dict(build.first_run.get("gaps", {}))
    told[side] = {"at": now.isoformat(), "by_station": gaps}
    _change(build, version, first_run=build.first_run | {"gaps": told})


@transaction.atomic
def skip_gaps(build, version, *, side):
    """Leave a side's gaps for later."""
    told = dict(build.first_run.get("gaps", {}))
    told[side] = {"skipped": True}
    _change(build, version, first_run=build.first_run | {"gaps": told})


def keep_draft(build, page, typed: dict) -> None:
    """Keep what was typed on a page of the first run that was left without sending it."""
    drafts = dict(build.first_run.get("drafts", {}))
    drafts[page] = typed
    Build.objects.filter(pk=build.pk).update(first_run=build.first_run | {"drafts": drafts})


def drop_draft(build, page) -> None:
    """Forget what was left unsent on a page: it was sent since."""
    build.refresh_from_db(fields=["first_run"])
    drafts = {name: typed for name, typed in build.first_run.get("drafts", {}).items() if name != page}
    Build.objects.filter(pk=build.pk).update(first_run=build.first_run | {"drafts": drafts})


def leave_first_run(build, *, now):
    """Go to the bench without a plan; it can be made from the page Plan at any time."""
    Build.objects.filter(pk=build.pk, set_up_at__isnull=True).update(set_up_at=now)
