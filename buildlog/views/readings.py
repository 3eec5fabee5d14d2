"""Mending one reading."""

import uuid
from dataclasses import replace

from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from buildlog import access
from buildlog.actions.conflict import Conflict
from buildlog.actions.readings import amend_reading, replace_reading
from buildlog.forms.lengths import ruler_of
from buildlog.forms.readings import AmendForm
from buildlog.forms.takes import decimals_of, figure_in
from buildlog.models import Amendment, Reading
from buildlog.queries.plans import label_of_strake


@require_http_methods(["GET", "HEAD", "POST"])
def amend(request, build_uuid, reading_uuid):
    visit = access.build_to_record(request, build_uuid)
    readings = Reading.objects.select_related(
        "build", "station", "strake__opening", "opening", "instrument", "epoch", "person", "plank", "session",
        "amendment__person", "amendment__new_reading",
    )  # fmt: skip
    reading = access.of_build(readings, visit.build, uuid=reading_uuid)
    form = _form(request, visit, reading)
    if request.method != "POST":
        return _page(request, visit, reading, form)
    if not form.is_valid():
        return _page(request, visit, reading, form)
    try:
        _amend(request, visit, reading, form.cleaned_data)
    except Conflict as conflict:
        return _page(request, visit, reading, form, conflict=conflict, status=409)
    return redirect(*_back(visit, reading))


amend.room = "bench"


def _words(reading) -> str:
    """What was read, for the sentences about the figure."""
    words = {
        Reading.Kind.GAP: _("gap at %(at)s"), Reading.Kind.GIRTH: _("girth at %(at)s"),
        Reading.Kind.EDGE: _("edge at %(at)s"), Reading.Kind.THICKNESS: _("thickness at %(at)s"),
    }.get(reading.kind, _("width at %(at)s"))  # fmt: skip
    return words % {"at": reading.station.name if reading.station else ""}


def _form(request, visit, reading):
    ruler = ruler_of(visit.build)
    ruler = replace(ruler, unit=reading.instrument.reading_unit) if reading.instrument else ruler
    decimals = decimals_of(reading.instrument, ruler.unit)
    initial = {"act": Amendment.Act.REPLACES, "client_uuid": uuid.uuid4(),
               "figure": figure_in(ruler.unit, reading.value_nm, decimals)}  # fmt: skip
    return AmendForm(
        request.POST if request.method == "POST" else None, initial=initial, ruler=ruler, decimals=decimals,
        words=_words(reading), expected_nm=reading.value_nm,
    )  # fmt: skip


def _amend(request, visit, reading, cleaned):
    if cleaned["act"] == Amendment.Act.REPLACES:
        return replace_reading(
            reading, client_uuid=cleaned["client_uuid"], length=cleaned["figure"], reason=cleaned["reason"],
            person=visit.person, account=request.user, now=request.now,
        )  # fmt: skip
    return amend_reading(
        reading, act=cleaned["act"], reason=cleaned["reason"], person=visit.person, now=request.now
    )


def _page(request, visit, reading, form, conflict=None, status=200):
    amendment = conflict.theirs if conflict else getattr(reading, "amendment", None)
    theirs = amendment if isinstance(amendment, Amendment) else None
    return render(request, "readings/amend.html", {
        "visit": visit, "build": visit.build, "reading": reading, "form": form, "conflict": conflict,
        "amendment": theirs, "label": label_of_strake(reading.strake) if reading.strake else "",
        "opening": reading.opening or (reading.strake.opening if reading.strake else None),
    }, status=status)  # fmt: skip


def _back(visit, reading):
    """Return where a mended reading is seen: with the others of its strake or its gap, or with the girths."""
    if reading.strake_id:
        return "widths-saved", visit.build.uuid, reading.strake.uuid
    if reading.kind == Reading.Kind.GIRTH:
        return "girth-list", visit.build.uuid
    return "gaps-saved", visit.build.uuid, reading.opening.uuid
