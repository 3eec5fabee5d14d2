"""The plan's revisions: one drafts and proposes, the owner says yes; what differs stands on the page."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.shortcuts import redirect, render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_POST, require_safe

from buildlog import access
from buildlog.actions import revisions as actions
from buildlog.actions.conflict import Conflict, NotPossible
from buildlog.forms.revisions import ReasonForm, SendBackForm, VersionForm
from buildlog.models import PlanRevision
from buildlog.queries import revisions as queries
from buildlog.queries.plan_changes import changes_between

State = PlanRevision.State


@require_safe
def revision_list(request, build_uuid):
    visit = access.build_to_read(request, build_uuid)
    rows = queries.revisions_of(visit.build)
    if not visit.may_plan:
        rows = [row for row in rows if row.number is not None]
    return render(request, "revisions/list.html", {"visit": visit, "build": visit.build, "revisions": rows})


@require_POST
def revision_new(request, build_uuid):
    visit = access.build_to_plan(request, build_uuid)
    try:
        draft = actions.begin_draft(visit.build, person=visit.person, now=request.now)
    except NotPossible as refused:
        messages.info(request, refused.sentence)
        return redirect("plan", visit.build.uuid)
    return redirect("revision-edit", visit.build.uuid, draft.uuid)


@require_safe
def revision_detail(request, build_uuid, revision_uuid):
    visit = access.build_to_read(request, build_uuid)
    revision = _revision(visit, revision_uuid)
    if revision.number is None and not visit.may_plan:
        raise PermissionDenied
    return _page(request, visit, revision)


def _revision(visit, uuid) -> PlanRevision:
    rows = PlanRevision.objects.select_related(
        "build", "proposed_by", "decided_by", "accepted_photo", "based_on"
    )
    return access.of_build(rows, visit.build, uuid=uuid)


def _page(request, visit, revision, *, form=None, back=None, conflict="", yours="", status=200):
    before = queries.revision_before(revision)
    is_open = revision.state in queries.OPEN_STATES
    seen = {"version": revision.version}
    changes = changes_between(before, revision) if before else []
    return render(request, "revisions/detail.html", {
        "visit": visit, "build": visit.build, "revision": revision, "before": before,
        "changes": changes,
        "cards": queries.cards_made_void(revision),
        "in_the_way": queries.in_the_way(revision, changes) if is_open else [],
        "loose_ends": queries.loose_ends(revision) if is_open else [],
        "is_open": is_open, "is_mine": revision.proposed_by_id == getattr(visit.person, "pk", None),
        "form": form or ReasonForm(build=visit.build, initial=seen | _said(revision)),
        "back_form": back or SendBackForm(initial=seen), "conflict": conflict, "yours": yours,
    }, status=status)  # fmt: skip


def _said(revision) -> dict:
    photo = revision.accepted_photo.uuid if revision.accepted_photo else None
    return {"reason": revision.reason, "accepted_by_eye": revision.accepted_by_eye, "photo": photo}


@require_POST
def revision_propose(request, build_uuid, revision_uuid):
    """Hand it to the owner. An owner who presses *Put in force* instead says yes to one's own draft at once."""
    visit = access.build_to_plan(request, build_uuid)
    revision = _revision(visit, revision_uuid)
    form = ReasonForm(request.POST, build=visit.build)
    if not form.is_valid():
        return _page(request, visit, revision, form=form)
    told = form.cleaned_data
    if "put" in request.POST and not visit.may_own:
        raise PermissionDenied
    said = {"reason": told["reason"], "accepted_by_eye": told["accepted_by_eye"], "photo": told["photo"]}
    try:
        if "put" in request.POST:
            actions.accept_own_draft(revision, told["version"], person=visit.person, now=request.now, **said)
        else:
            actions.propose(revision, told["version"], person=visit.person, now=request.now, **said)
    except (Conflict, NotPossible) as refused:
        return _refused(request, visit, revision, refused, form=form)
    return redirect("revision-detail", visit.build.uuid, revision.uuid)


def _refused(request, visit, revision, refused, **forms):
    """Show the page as it stands now with what was typed still in its field, under the version that stands."""
    now = PlanRevision.objects.filter(pk=revision.pk).first()
    if now is None:
        messages.info(request, refused.sentence)
        return redirect("revision-list", visit.build.uuid)
    for name, form in forms.items():
        data = form.data.copy()
        data["version"] = now.version
        forms[name] = ReasonForm(data, build=visit.build) if name == "form" else SendBackForm(data)
    fresh = _revision(visit, revision.uuid)
    typed = {name: form.data.get("reason") or form.data.get("words", "") for name, form in forms.items()}
    return _page(
        request, visit, fresh, conflict=refused.sentence, yours=next(iter(typed.values()), ""), status=409, **forms
    )


@require_POST
def revision_send_back(request, build_uuid, revision_uuid):
    """The owner sends a proposal back with words; its author takes it back."""
    visit = access.build_to_plan(request, build_uuid)
    revision = _revision(visit, revision_uuid)
    _author_or_owner(visit, revision)
    form = SendBackForm(request.POST)
    if not form.is_valid():
        return _page(request, visit, revision, back=form)
    told = form.cleaned_data
    try:
        actions.send_back(revision, told["version"], words=told["words"], person=visit.person, now=request.now)
    except (Conflict, NotPossible) as refused:
        return _refused(request, visit, revision, refused, back=form)
    return redirect("revision-detail", visit.build.uuid, revision.uuid)


def _author_or_owner(visit, revision):
    if not visit.may_own and revision.proposed_by_id != visit.person.pk:
        raise PermissionDenied


def _deed(action, *, least, words, where):
    @require_POST
    def deed(request, build_uuid, revision_uuid):
        visit = least(request, build_uuid)
        revision = _revision(visit, revision_uuid)
        _author_or_owner(visit, revision)
        form = VersionForm(request.POST)
        if not form.is_valid():
            return _page(request, visit, revision)
        try:
            done = action(revision, form.cleaned_data["version"], person=visit.person, now=request.now)
        except (Conflict, NotPossible) as refused:
            return _refused(request, visit, revision, refused)
        messages.success(request, words)
        return redirect(where, visit.build.uuid, *([done.uuid] if done else []))

    deed.room = "plan"
    return deed


revision_put = _deed(
    actions.accept_revision, least=access.build_to_own, words=_("It is in force."), where="revision-detail"
)
revision_throw_away = _deed(
    actions.throw_away, least=access.build_to_plan, words=_("The draft is gone."), where="revision-list"
)
revision_renew = _deed(
    actions.bring_up_to_date, least=access.build_to_plan, words=_("It stands on the plan in force now."),
    where="revision-detail",
)  # fmt: skip

for _view in (revision_list, revision_new, revision_detail, revision_propose, revision_send_back):
    _view.room = "plan"
