"""One opening: the sum behind its verdict, station by station."""

from django.shortcuts import render
from django.views.decorators.http import require_safe

from buildlog.access import build_to_read, of_build
from buildlog.drawn.heads import standing_hull
from buildlog.models import Opening


@require_safe
def opening_sums(request, build_uuid, opening_uuid):
    visit = build_to_read(request, build_uuid)
    opening = of_build(Opening.objects, visit.build, uuid=opening_uuid)
    review = standing_hull(visit).review(opening)
    return render(request, "openings/sums.html", {"visit": visit, "opening": opening, "review": review})


opening_sums.room = "hull"
