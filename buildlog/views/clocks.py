"""Starting and stopping the clock of a session."""

from django.contrib import messages
from django.shortcuts import redirect
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from buildlog import access
from buildlog.actions.clocks import start_clock, stop_clock
from buildlog.actions.conflict import Conflict, NotPossible
from buildlog.models import Session
from buildlog.queries.clocks import last_entry_of


@require_POST
def start(request, build_uuid):
    visit = access.build_to_record(request, build_uuid)
    start_clock(visit.build, person=visit.person, now=request.now, happened_at=request.kept_at)
    return redirect("bench", visit.build.uuid)


@require_POST
def stop(request, build_uuid, session_uuid):
    """Stop it now, or at the last entry where that was chosen; then the minutes can be mended by hand."""
    visit = access.build_to_record(request, build_uuid)
    session = access.of_build(Session.objects.select_related("build"), visit.build, uuid=session_uuid)
    ended_at = last_entry_of(session) if request.POST.get("at") == "last" else request.kept_at
    try:
        stop_clock(session, person=visit.person, now=request.now, ended_at=ended_at)
    except (Conflict, NotPossible) as refused:
        messages.info(request, refused.sentence)
        return redirect("bench", visit.build.uuid)
    if request.POST.get("at") == "hand":
        return redirect("session-edit", visit.build.uuid, session.uuid)
    told = ngettext("Stopped: %(minutes)d minute.", "Stopped: %(minutes)d minutes.", session.minutes)
    messages.success(request, told % {"minutes": session.minutes})
    return redirect("bench", visit.build.uuid)


start.room = stop.room = "bench"
