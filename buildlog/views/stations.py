"""Stations: how many there are, and what they are called."""

from decimal import Decimal
from itertools import pairwise

from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods

from buildlog.access import build_to_plan
from buildlog.actions import builds as actions
from buildlog.forms.lengths import ruler_of
from buildlog.forms.stations import StationCountForm, StationNamesForm, prefilled_names
from buildlog.models import NM_PER_MM
from buildlog.queries.plans import revision_in_force

from .builds import _status, _try
from .first_run import ask, go_on, page_url, typed_before

page_and_form = require_http_methods(["GET", "HEAD", "POST"])


@page_and_form
def station_count(request, build_uuid):
    visit = build_to_plan(request, build_uuid)
    build = visit.build
    if revision_in_force(build):
        return redirect("plan", build.uuid)
    initial = _count_told(build) | typed_before(build, "station-count") | {"version": build.version}
    form = StationCountForm(request.POST if request.method == "POST" else None, initial=initial)
    if request.method == "POST" and form.is_valid():
        done = _try(form, actions.set_station_count, build, form.cleaned_data["version"], count=form.count,
                    frame_word=form.cleaned_data["word"], person=visit.person, now=request.now)  # fmt: skip
        if done:
            return go_on(build, "station-count")
    return ask(request, visit, "stations/count.html", "station-count", form, status=_status(form))


def _count_told(build) -> dict:
    count = build.first_run.get("count", 5)
    bulkheads = build.first_run.get("layers") == 2 and "count" not in build.first_run
    how_many = str(count) if count in (3, 5, 9) else "other"
    return {
        "how_many": how_many,
        "other": count if how_many == "other" else None,
        "word": "bulkhead" if bulkheads else build.frame_word,
    }


@page_and_form
def station_names(request, build_uuid):
    visit = build_to_plan(request, build_uuid)
    build = visit.build
    stations = list(build.stations.order_by("position"))
    if not stations and "count" not in build.first_run:
        return redirect(page_url(build, "station-count"))
    form = _names_form(request, build, stations)
    if request.method == "POST" and form.is_valid():
        done = _try(form, actions.name_stations, build, form.cleaned_data["version"], names=form.names,
                    dead_flat=form.cleaned_data["dead_flat"], distances_nm=form.distances_nm,
                    person=visit.person, now=request.now)  # fmt: skip
        if done:
            return go_on(build, "station-names")
    return ask(
        request, visit, "stations/names.html", "station-names", form, status=_status(form), rows=_rows(form)
    )


def _rows(form):
    """Return each name with whether its place is the widest, as last typed."""
    flat = str(form["dead_flat"].value())
    return [{"name": field, "is_flat": str(index) == flat} for index, field in enumerate(form.name_rows())]


def _mm_exactly(nm: int) -> str:
    """A distance to the nanometre, so that saving the names again moves no station."""
    return f"{Decimal(nm) / NM_PER_MM:f} mm"


def _names_form(request, build, stations):
    names = [s.name for s in stations] or prefilled_names(build.first_run["count"], build.frame_word)
    places = [s.x_nm for s in stations]
    distances = []
    if places and None not in places:
        distances = [
            _mm_exactly(aft - fore) for fore, aft in pairwise(places)
        ]
    return StationNamesForm(
        request.POST if request.method == "POST" else None,
        initial=typed_before(build, "station-names") | {"version": build.version},
        names=names,
        distances=distances,
        dead_flat=next((i for i, s in enumerate(stations) if s.is_dead_flat), None),
        ruler=ruler_of(build),
    )


station_names.room = "plan"
