"""Strakes of a draft: change one, put one in, leave one out, give the closing mark to another."""

from uuid import UUID

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from buildlog.actions import plan_strakes as actions
from buildlog.actions.conflict import Conflict, NotPossible
from buildlog.forms.plan_strakes import NewStrakeForm, StrakeForm, butts_in_words, spans_in_words
from buildlog.queries.plan_strakes import butts_of, frames_of, strake_as_seen
from buildlog.queries.plan_widths import draft_opening, locked_because

from .plan_widths import draft_of, opening_of_draft, strake_of_draft


def _belts(draft, opening):
    return list(draft.revision.belts.filter(opening=opening).order_by("position"))


@require_http_methods(["GET", "HEAD", "POST"])
def change(request, build_uuid, revision_uuid, strake_uuid):
    draft = draft_of(request, build_uuid, revision_uuid)
    opening = strake_of_draft(draft, strake_uuid).opening
    strake = draft_opening(draft.revision, opening).strake(strake_uuid)
    if strake is None:
        raise Http404
    told = {"frames": frames_of(draft.build), "belts": _belts(draft, opening)}
    status = 200
    if request.method == "POST":
        form = StrakeForm(request.POST, **told)
        if form.is_valid():
            status, form = _change(request, draft, opening, strake_uuid, form, told)
        if form is None:
            return redirect(draft.url(opening))
    else:
        form = StrakeForm(initial=_as_told(strake.plan, told["frames"]), **told)
    return render(request, "plan_strakes/change.html", {
        "visit": draft.visit, "build": draft.build, "revision": draft.revision, "opening": opening,
        "strake": strake, "locked": locked_because(strake), "form": form, "back": draft.url(opening),
    }, status=status)  # fmt: skip


def _as_told(plan, frames) -> dict:
    return {"label": plan.label, "kind": plan.kind, "spans": spans_in_words(plan.spans, frames),
            "belt": str(plan.belt.uuid) if plan.belt else "", "seen": strake_as_seen(plan),
            "butts": butts_in_words(butts_of(plan), frames), "joins": plan.joins}  # fmt: skip


def _change(request, draft, opening, strake_uuid, form, told):
    """Write it; return a form of None where it went in, else the status and the form with what was typed."""
    try:
        actions.change_strake(
            draft.revision, opening, strake_uuid, **form.told, seen=form.cleaned_data["seen"],
            person=draft.visit.person, now=request.now,
        )  # fmt: skip
    except NotPossible as why:
        form.add_error(why.field or None, why.sentence)
        return 409, form
    except Conflict as newer:
        theirs = _as_told(newer.theirs, told["frames"])
        sent = request.POST.copy()
        sent["seen"] = theirs["seen"]
        again = StrakeForm(sent, **told)
        again.is_valid()
        again.add_error(None, _theirs_in_words(newer, theirs))
        return 409, again
    return 200, None


def _theirs_in_words(newer, theirs) -> str:
    stretch = theirs["spans"].replace("\n", ", ") or _("from end to end")
    return newer.sentence + " " + _(
        "It is now %(label)s, %(kind)s, %(spans)s. What you typed is below; send it again to put it."
    ) % {"label": theirs["label"], "kind": newer.theirs.get_kind_display(), "spans": stretch}


@require_http_methods(["GET", "HEAD", "POST"])
def add(request, build_uuid, revision_uuid, opening_uuid):
    draft = draft_of(request, build_uuid, revision_uuid)
    opening = opening_of_draft(draft, uuid=opening_uuid)
    strakes = draft_opening(draft.revision, opening).strakes
    told = {"frames": frames_of(draft.build), "belts": _belts(draft, opening), "strakes": strakes}
    status = 200
    if request.method == "POST":
        form = NewStrakeForm(request.POST, **told)
        if form.is_valid():
            try:
                _add(request, draft, opening, form)
                return redirect(draft.url(opening))
            except NotPossible as why:
                form.add_error(why.field or None, why.sentence)
                status = 409
    else:
        form = NewStrakeForm(initial={"kind": "full", **_usual_place(strakes)}, **told)
    return render(request, "plan_strakes/add.html", {
        "visit": draft.visit, "build": draft.build, "revision": draft.revision, "opening": opening, "form": form,
        "back": draft.url(opening),
    }, status=status)  # fmt: skip


def _usual_place(strakes) -> dict:
    """Offer a place beside the closing strake, where the two runs meet."""
    closing = next((s for s in strakes if s.plan.run == "closing"), None)
    return {"beside": str(closing.plan.strake.uuid)} if closing else {}


def _add(request, draft, opening, form):
    beside = form.cleaned_data["beside"]
    actions.add_strake(
        draft.revision, opening, beside=UUID(beside) if beside else None, towards=form.cleaned_data["towards"],
        **form.told, person=draft.visit.person, now=request.now,
    )  # fmt: skip


@require_POST
def leave_out(request, build_uuid, revision_uuid, strake_uuid):
    return _do(request, build_uuid, revision_uuid, strake_uuid, actions.leave_out)


@require_POST
def close(request, build_uuid, revision_uuid, strake_uuid):
    return _do(request, build_uuid, revision_uuid, strake_uuid, actions.move_closing)


def _do(request, build_uuid, revision_uuid, strake_uuid, deed):
    draft = draft_of(request, build_uuid, revision_uuid)
    opening = strake_of_draft(draft, strake_uuid).opening
    try:
        deed(draft.revision, opening, strake_uuid, person=draft.visit.person, now=request.now)
    except NotPossible as why:
        messages.warning(request, why.sentence)
    return redirect(draft.url(opening))


change.room = add.room = leave_out.room = close.room = "plan"
