"""Telling that an edge was dressed after it was measured, and taking that back."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from buildlog import access
from buildlog.actions.conflict import NotPossible
from buildlog.actions.dressings import dress_edge, withdraw_dressing
from buildlog.forms.dressings import DressingForm
from buildlog.models import EdgeDressed
from buildlog.queries.plans import label_of_strake
from buildlog.queries.strakes import stations_of

from .widths import strake_of


@require_http_methods(["GET", "HEAD", "POST"])
def dress(request, build_uuid, strake_uuid):
    visit = access.build_to_record(request, build_uuid)
    strake = strake_of(visit.build, strake_uuid)
    form = DressingForm(request.POST if request.method == "POST" else None, stations=stations_of(strake))
    if form.is_valid():
        dress_edge(
            strake, from_station=form.station("from_station"), to_station=form.station("to_station"),
            note=form.cleaned_data["note"], person=visit.person, now=request.now, happened_at=request.kept_at,
            known_at=request.kept_at,
        )  # fmt: skip
        return redirect("strake-detail", visit.build.uuid, strake.uuid)
    return render(request, "dressings/form.html", {
        "visit": visit, "build": visit.build, "strake": strake, "label": label_of_strake(strake), "form": form,
    })  # fmt: skip


@require_POST
def dress_withdraw(request, build_uuid, dressing_uuid):
    visit = access.build_to_record(request, build_uuid)
    dressings = EdgeDressed.objects.select_related("strake__opening__build")
    dressed = access.of_build(dressings, visit.build, lookup="strake__opening__build", uuid=dressing_uuid)
    try:
        withdraw_dressing(dressed, person=visit.person, now=request.now)
    except NotPossible as refused:
        messages.info(request, refused.sentence)
    return redirect("strake-detail", visit.build.uuid, dressed.strake.uuid)


dress.room = dress_withdraw.room = "hull"
