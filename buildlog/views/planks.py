"""The steps of a strake's planks: in hand, cut, dry-fitted, hung, spoiled, taken off, hung by mistake."""

from django.contrib import messages
from django.db import transaction
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from buildlog import access
from buildlog.actions import planks as actions
from buildlog.actions.conflict import Conflict, NotPossible
from buildlog.actions.sessions import session_for
from buildlog.forms.planks import ReasonForm
from buildlog.measuring.cut_cards import set_widths_now
from buildlog.models import Plank
from buildlog.queries.planks import OPEN, states_of_strakes
from buildlog.queries.plans import label_of_strake, revision_in_force

from .widths import strake_of

page_and_form = require_http_methods(["GET", "HEAD", "POST"])


@require_POST
def begin(request, build_uuid, strake_uuid):
    return _step(request, build_uuid, strake_uuid, actions.begin_cutting, to_card=True)


@require_POST
def cut(request, build_uuid, strake_uuid):
    return _step(request, build_uuid, strake_uuid, actions.cut_strake, to_card=True)


@require_POST
def dry_fit(request, build_uuid, strake_uuid):
    return _step(request, build_uuid, strake_uuid, actions.dry_fit_strake, to_card=True)


@require_POST
def hang(request, build_uuid, strake_uuid):
    return _step(request, build_uuid, strake_uuid, actions.hang_strake, to_card=True)


@require_POST
def hang_unmeasured(request, build_uuid, strake_uuid):
    return _step(request, build_uuid, strake_uuid, actions.hang_strake, measured=Plank.Measured.NOT_MEASURED)


@require_POST
def hang_before_log(request, build_uuid, strake_uuid):
    return _step(request, build_uuid, strake_uuid, actions.hang_strake, measured=Plank.Measured.BEFORE_LOG)


def _step(request, build_uuid, strake_uuid, action, *, to_card=False, **fields):
    visit = access.build_to_record(request, build_uuid)
    strake = strake_of(visit.build, strake_uuid)
    if to_card:
        fields["set_widths"] = set_widths_now(visit.build, strake, revision_in_force(visit.build))
    try:
        _do(request, visit, strake, action, **fields)
    except (Conflict, NotPossible) as refused:
        return _refused(request, visit, strake, refused)
    return _back(request, visit, strake)


def _back(request, visit, strake):
    """Return to where the deed was done: the strake's own page, else Bench."""
    if request.POST.get("back") == "strake" or request.GET.get("back") == "strake":
        return redirect("strake-detail", visit.build.uuid, strake.uuid)
    return redirect("bench", visit.build.uuid)


def _refused(request, visit, strake, refused):
    """Say what stands in the way: 409, where somebody else was there first."""
    context = {
        "visit": visit, "build": visit.build, "strake": strake, "label": label_of_strake(strake),
        "sentence": refused.sentence, "theirs": getattr(refused, "theirs", None),
        "state": states_of_strakes([strake.pk]).get(strake.pk, OPEN),
    }  # fmt: skip
    return render(request, "planks/refused.html", context, status=409)


@page_and_form
def spoil(request, build_uuid, strake_uuid):
    return _with_reason(
        request, build_uuid, strake_uuid,
        lambda strake, **fields: actions.take_out_strake(strake, Plank.State.SPOILED, **fields),
        title=_("Spoiled"), deed=_("It is spoiled"),
        said=_("The plank leaves the hull's count; what was read on it stays in the log and counts no more."),
    )  # fmt: skip


@page_and_form
def take_off(request, build_uuid, strake_uuid):
    return _with_reason(
        request, build_uuid, strake_uuid,
        lambda strake, **fields: actions.take_out_strake(strake, Plank.State.TAKEN_OFF, **fields),
        title=_("Taken off"), deed=_("It is off"),
        said=_("The strake is open again. Its old readings stay in the log and count no more."),
    )  # fmt: skip


@page_and_form
def unhang(request, build_uuid, strake_uuid):
    return _with_reason(
        request, build_uuid, strake_uuid, actions.unhang_strake,
        title=_("Hung by mistake"), deed=_("It does not hang"),
        said=_("The strake goes back to what it was before it was marked hung. Its readings stay."),
    )  # fmt: skip


def _with_reason(request, build_uuid, strake_uuid, action, **words):
    visit = access.build_to_record(request, build_uuid)
    strake = strake_of(visit.build, strake_uuid)
    form = ReasonForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            _do(request, visit, strake, action, reason=form.cleaned_data["reason"])
            messages.success(request, words["title"])
            return _back(request, visit, strake)
        except NotPossible as refused:
            form.add_error(None, refused.sentence)
    context = {
        "visit": visit, "build": visit.build, "strake": strake, "form": form, "label": label_of_strake(strake),
        "state": states_of_strakes([strake.pk]).get(strake.pk, OPEN), **words,
    }  # fmt: skip
    return render(request, "planks/reason.html", context)


@transaction.atomic
def _do(request, visit, strake, action, **fields):
    """Take the step in the session of its day; one that is refused begins no session."""
    session = session_for(
        visit.build, person=visit.person, now=request.now, side=strake.opening.side, happened_at=request.kept_at
    )
    action(
        strake, person=visit.person, now=request.now, session=session, happened_at=request.kept_at,
        known_at=request.kept_at, **fields,
    )  # fmt: skip
