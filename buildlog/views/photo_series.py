"""The hull from one and the same place: step through what was taken, and take the next with the last to line up by."""

import uuid

from django.contrib import messages
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from buildlog.access import build_to_read, build_to_record, of_build
from buildlog.actions.conflict import NotPossible
from buildlog.actions.photo_notes import receive_photos
from buildlog.actions.photo_series import add_to_series, begin_series, rename_series
from buildlog.actions.sessions import local_moment, session_for
from buildlog.forms.photo_series import NextForm, SeriesForm
from buildlog.models import PhotoSeries
from buildlog.queries.photo_series import photos_of_series, stories_of_series
from buildlog.queries.photos import taken_at

from .entries import wants_json
from .photo_notes import photos_as_json


@require_safe
def series_list(request, build_uuid):
    visit = build_to_read(request, build_uuid)
    return render(request, "photo_series/list.html", {"visit": visit, "stories": stories_of_series(visit.build)})


series_list.room = "log"


@require_http_methods(["GET", "HEAD", "POST"])
def series_new(request, build_uuid):
    visit = build_to_record(request, build_uuid)
    form = SeriesForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            series = begin_series(visit.build, name=form.cleaned_data["name"], person=visit.person, now=request.now)
            return redirect("photo-series-next", visit.build.uuid, series.uuid)
        except NotPossible as refused:
            form.add_error(refused.field, refused.sentence)
    return render(request, "photo_series/name.html", {"visit": visit, "form": form, "series": None})


series_new.room = "log"


@require_http_methods(["GET", "HEAD", "POST"])
def series_name(request, build_uuid, series_uuid):
    visit = build_to_record(request, build_uuid)
    series = _series(visit, series_uuid)
    form = SeriesForm(request.POST or None, initial={"name": series.name})
    if request.method == "POST" and form.is_valid():
        try:
            rename_series(series, name=form.cleaned_data["name"], person=visit.person, now=request.now)
            return redirect("photo-series-detail", visit.build.uuid, series.uuid)
        except NotPossible as refused:
            form.add_error(refused.field, refused.sentence)
    return render(request, "photo_series/name.html", {"visit": visit, "form": form, "series": series})


series_name.room = "log"


@require_safe
def series_detail(request, build_uuid, series_uuid):
    """One picture of the series at a time, with the one before and after it; the newest to begin with."""
    visit = build_to_read(request, build_uuid)
    series = _series(visit, series_uuid)
    photos = photos_of_series(series)
    at = next((n for n, photo in enumerate(photos) if str(photo.uuid) == request.GET.get("at")), len(photos) - 1)
    return render(request, "photo_series/detail.html", {
        "visit": visit, "series": series, "photos": photos, "place": at + 1,
        "photo": photos[at] if photos else None, "taken": taken_at(photos[at]) if photos else None,
        "before": photos[at - 1] if at > 0 else None, "after": photos[at + 1] if at + 1 < len(photos) else None,
    })  # fmt: skip


series_detail.room = "log"


@require_safe
def series_next(request, build_uuid, series_uuid):
    """Where the next photograph is taken: the last one stands beside, or over the camera's own picture."""
    visit = build_to_record(request, build_uuid)
    return _next_page(request, visit, _series(visit, series_uuid), sent="sent" in request.GET)


series_next.room = "log"


@require_POST
def series_add(request, build_uuid, series_uuid):
    """Receive photographs straight into a series."""
    visit = build_to_record(request, build_uuid)
    series = _series(visit, series_uuid)
    form = NextForm(request.POST, request.FILES)
    if not form.is_valid() or not form.cleaned_data["photos"]:
        form.add_error("photos", _("Choose the photograph, or take it."))
        if wants_json(request):
            return photos_as_json(form)
        return _next_page(request, visit, series, form)
    received = _receive(request, visit, series, form.cleaned_data)
    if wants_json(request):
        return photos_as_json(form, received, reverse("photo-series-next", args=[build_uuid, series_uuid]))
    for one in received.twice:
        said = _("%(name)s was in the log already; that photograph now stands in this series.")
        messages.info(request, said % {"name": one["name"]})
    if received.refused:
        status = 507 if received.disk_full else 200
        return _next_page(request, visit, series, refused=received.refused, status=status)
    messages.success(request, _("Received; it stands in the series as soon as it is ready."))
    return redirect("photo-series-next", visit.build.uuid, series.uuid)


series_add.room = "log"


def _receive(request, visit, series, cleaned):
    told = {"person": visit.person, "now": request.now}
    received = receive_photos(
        visit.build, visit.person, cleaned["photos"], batch=cleaned["batch"], caption="", strake=None,
        session=lambda: session_for(visit.build, **told, happened_at=request.kept_at), now=request.now,
    )  # fmt: skip
    local = local_moment(visit.build, request.kept_at or request.now)
    for one in received.kept:
        add_to_series(one["photo"], series, local=local, **told)
    return received


def _series(visit, series_uuid):
    return of_build(PhotoSeries.objects.select_related("build"), visit.build, uuid=series_uuid)


def _next_page(request, visit, series, form=None, refused=(), status=200, sent=False):
    photos = photos_of_series(series)
    return render(request, "photo_series/next.html", {
        "visit": visit, "series": series, "last": photos[-1] if photos else None, "refused": refused,
        "form": form or NextForm(initial={"batch": uuid.uuid4()}), "sent": sent,
    }, status=status)  # fmt: skip
