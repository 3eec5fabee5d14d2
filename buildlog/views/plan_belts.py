"""Belts of a draft: add one, change one, take one out."""

from uuid import UUID

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from buildlog import access
from buildlog.actions.conflict import Conflict, NotPossible
from buildlog.actions.plan_belts import remove_belt, write_belt
from buildlog.forms.plan_belts import BeltForm
from buildlog.models import PlanBelt
from buildlog.queries.plan_belts import belt_as_seen, strakes_of_belt
from buildlog.queries.plan_widths import draft_opening

from .plan_widths import draft_of, opening_of_draft


@require_http_methods(["GET", "HEAD", "POST"])
def add(request, build_uuid, revision_uuid, opening_uuid):
    draft = draft_of(request, build_uuid, revision_uuid)
    return _page(request, draft, opening_of_draft(draft, uuid=opening_uuid), None)


def _belt_of(draft, belt_uuid):
    belts = PlanBelt.objects.filter(revision=draft.revision).select_related("opening__build")
    return access.of_build(belts, draft.build, lookup="revision__build", uuid=belt_uuid)


@require_http_methods(["GET", "HEAD", "POST"])
def change(request, build_uuid, revision_uuid, belt_uuid):
    draft = draft_of(request, build_uuid, revision_uuid)
    belt = _belt_of(draft, belt_uuid)
    return _page(request, draft, belt.opening, belt)


def _page(request, draft, opening, belt):
    strakes = draft_opening(draft.revision, opening).strakes
    status = 200
    if request.method == "POST":
        form = BeltForm(request.POST, strakes=strakes)
        if form.is_valid():
            status, form = _write(request, draft, opening, belt, form)
        if form is None:
            return redirect(draft.url(opening))
    else:
        form = BeltForm(initial=_as_told(belt, strakes) if belt else {"at_line": "carry"}, strakes=strakes)
    return render(request, "plan_belts/form.html", {
        "visit": draft.visit, "build": draft.build, "revision": draft.revision, "opening": opening, "belt": belt,
        "form": form, "strakes": strakes, "back": draft.url(opening),
    }, status=status)  # fmt: skip


def _as_told(belt, strakes) -> dict:
    here = [str(s.plan.strake.uuid) for s in strakes_of_belt(belt, strakes)]
    return {"name": belt.name, "at_line": belt.at_line, "seen": belt_as_seen(belt, strakes),
            "first": here[0] if here else "", "last": here[-1] if here else ""}  # fmt: skip


def _write(request, draft, opening, belt, form):
    """Write it; return a form of None where it went in, else the status and the form with what was typed."""
    told = form.cleaned_data
    try:
        write_belt(
            draft.revision, opening, belt.uuid if belt else None, name=told["name"].strip(), at_line=told["at_line"],
            first=UUID(told["first"]), last=UUID(told["last"]), seen=told["seen"], person=draft.visit.person,
            now=request.now,
        )  # fmt: skip
    except NotPossible as why:
        form.add_error(why.field or None, why.sentence)
        return 409, form
    except Conflict as newer:
        return 409, _both(request, draft, opening, newer)
    return 200, None


def _both(request, draft, opening, newer):
    """The form with what was typed, over what stands now; sent again, it counts for what stands now."""
    strakes = draft_opening(draft.revision, opening).strakes
    labels = [s.label for s in strakes_of_belt(newer.theirs, strakes)]
    sent = request.POST.copy()
    sent["seen"] = belt_as_seen(newer.theirs, strakes)
    again = BeltForm(sent, strakes=strakes)
    again.is_valid()
    again.add_error(None, newer.sentence + " " + _(
        "It is now %(name)s, strakes %(labels)s, %(line)s. What you typed is below; send it again to put it."
    ) % {"name": newer.theirs.name, "labels": ", ".join(labels), "line": newer.theirs.get_at_line_display().lower()})
    return again


@require_POST
def remove(request, build_uuid, revision_uuid, belt_uuid):
    draft = draft_of(request, build_uuid, revision_uuid)
    belt = _belt_of(draft, belt_uuid)
    try:
        remove_belt(draft.revision, belt.opening, belt.uuid, person=draft.visit.person, now=request.now)
    except NotPossible as why:
        messages.warning(request, why.sentence)
    return redirect(draft.url(belt.opening))


add.room = change.room = remove.room = "plan"
