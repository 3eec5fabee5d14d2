"""Editing what a session says of itself; two people at once both keep their words on screen."""

from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from buildlog import access
from buildlog.actions.conflict import Conflict
from buildlog.actions.sessions import edit_session
from buildlog.forms.sessions import SessionForm
from buildlog.models import Session, Side3


@require_http_methods(["GET", "HEAD", "POST"])
def edit(request, build_uuid, session_uuid):
    visit = access.build_to_record(request, build_uuid)
    session = access.of_build(Session.objects.select_related("build", "by"), visit.build, uuid=session_uuid)
    if request.method != "POST":
        return _page(request, visit, session, SessionForm(initial=_initial(session), sides=_sides(session)))
    form = SessionForm(request.POST, sides=_sides(session))
    if not form.is_valid():
        return _page(request, visit, session, form)
    try:
        edit_session(
            session, form.cleaned_data["version"], person=visit.person, now=request.now, **form.changes()
        )
    except Conflict as conflict:
        return _conflict(request, visit, conflict, form)
    return redirect(reverse("log", args=[visit.build.uuid]) + f"#session-{session.uuid}")


edit.room = "log"


def _sides(session) -> list[str]:
    """What a session may be of; what it says already can stay."""
    build = session.build
    sides = list(Side3.values) if build.sides == Side3.BOTH else build.side_list
    return list(dict.fromkeys([*sides, *filter(None, [session.side])]))


def _initial(session) -> dict:
    return {name: getattr(session, name) for name in SessionForm.FIELDS} | {"version": session.version}


def _conflict(request, visit, conflict, form):
    """Both texts stand on the page: theirs to read, ours still in the fields, under the version that stands now."""
    theirs = conflict.theirs
    same = all(getattr(theirs, name) == value for name, value in form.changes().items())
    if same:
        return redirect(reverse("log", args=[visit.build.uuid]) + f"#session-{theirs.uuid}")
    mine = SessionForm(initial=form.changes() | {"version": theirs.version}, sides=_sides(theirs))
    differing = [
        {"label": mine.fields[name].label, "theirs": getattr(theirs, name)}
        for name, value in form.changes().items()
        if getattr(theirs, name) != value
    ]
    return _page(request, visit, theirs, mine, conflict=conflict, differing=differing, status=409)


def _page(request, visit, session, form, conflict=None, differing=(), status=200):
    template = "sessions/_edit.html" if request.htmx else "sessions/edit.html"
    return render(request, template, {
        "visit": visit, "build": visit.build, "session": session, "form": form, "conflict": conflict,
        "differing": differing,
    }, status=status)  # fmt: skip
