"""A sheet filled in at the bench and photographed: which photograph stands beside the entry of a strake."""

from django.shortcuts import render
from django.views.decorators.http import require_safe

from buildlog import access
from buildlog.queries.sheets import latest_photos

from .widths import strake_of


@require_safe
def sheet_list(request, build_uuid, strake_uuid):
    visit = access.build_to_record(request, build_uuid)
    strake = strake_of(visit.build, strake_uuid)
    return render(request, "sheets/list.html", {
        "visit": visit, "build": visit.build, "strake": strake, "photos": latest_photos(visit.build),
    })  # fmt: skip


sheet_list.room = "bench"
