"""Bench timers: they run in the page, and nothing of them is kept."""

from django.shortcuts import render
from django.views.decorators.http import require_safe

from buildlog.access import build_to_read


@require_safe
def timer_list(request, build_uuid):
    visit = build_to_read(request, build_uuid)
    return render(request, "timers/detail.html", {"visit": visit, "build": visit.build})


timer_list.room = "bench"
