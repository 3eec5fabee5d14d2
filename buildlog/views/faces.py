"""Which faces an opening's girths and widths were taken on, and what mixing them would come to."""

from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from buildlog.access import build_to_plan, of_build
from buildlog.actions.conflict import Conflict
from buildlog.actions.faces import set_faces
from buildlog.drawn.heads import standing_hull
from buildlog.forms.faces import FaceRadiusForm, FacesForm, face_difference_mm
from buildlog.models import NM_PER_MM, Opening
from buildlog.queries.faces import planks_at


@require_http_methods(["GET", "HEAD", "POST"])
def faces(request, build_uuid, opening_uuid):
    visit = build_to_plan(request, build_uuid)
    opening = of_build(Opening.objects.select_related("build"), visit.build, uuid=opening_uuid)
    if request.method != "POST":
        return _page(request, visit, opening, FacesForm(initial=_stands(opening)))
    form = FacesForm(request.POST)
    if not form.is_valid():
        return _page(request, visit, opening, form)
    try:
        set_faces(opening, **form.cleaned_data, person=visit.person, now=request.now)
    except Conflict as conflict:
        opening.refresh_from_db()
        now_stands = FacesForm(initial=_stands(opening))
        return _page(request, visit, opening, now_stands, conflict=conflict.sentence, status=409)
    return redirect("girth-list", visit.build.uuid)


def _stands(opening) -> dict:
    return {"girth_taken": opening.girth_taken, "widths_taken": opening.widths_taken, "seen": opening.version}


def _page(request, visit, opening, form, conflict="", status=200):
    hull = standing_hull(visit)
    radius = FaceRadiusForm(request.GET if "bilge" in request.GET else None)
    planks = planks_at(hull.revision, opening, hull.widest_station())
    context = {
        "visit": visit, "build": visit.build, "opening": opening, "form": form, "radius": radius, "planks": planks,
        "conflict": conflict, "radius_mm": radius.radius_mm,
    }  # fmt: skip
    if planks:
        width, thickness = planks.width_nm / NM_PER_MM, planks.thickness_nm / NM_PER_MM
        each = face_difference_mm(width, thickness, radius.radius_mm)
        context |= {"each": each, "percent": 100 * each / width, "together": each * planks.strakes}
    return render(request, "faces/detail.html", context, status=status)


faces.room = "plan"
