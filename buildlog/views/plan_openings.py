"""Seam, limits and stock of one opening of a draft."""

from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from buildlog.actions.conflict import Conflict, NotPossible
from buildlog.actions.plan_openings import change_limits
from buildlog.forms.lengths import ruler_of
from buildlog.forms.plan_openings import LimitsForm
from buildlog.queries.plan_openings import limits_as_seen
from buildlog.queries.plan_widths import draft_opening

from .plan_widths import draft_of, opening_of_draft


@require_http_methods(["GET", "HEAD", "POST"])
def limits(request, build_uuid, revision_uuid, opening_uuid):
    draft = draft_of(request, build_uuid, revision_uuid)
    opening = opening_of_draft(draft, uuid=opening_uuid)
    held = draft_opening(draft.revision, opening)
    told = {"ruler": ruler_of(draft.build), "full_nm": held.full_nm(), "initial": _as_told(held.plan, opening)}
    status = 200
    if request.method == "POST":
        form = LimitsForm(request.POST, **told)
        if form.is_valid():
            status, form = _change(request, draft, opening, form, told)
        if form is None:
            return redirect(draft.url(opening))
    else:
        form = LimitsForm(**told)
    return render(request, "plan_openings/limits.html", {
        "visit": draft.visit, "build": draft.build, "revision": draft.revision, "opening": opening, "form": form,
        "full_nm": told["full_nm"], "back": draft.url(opening),
    }, status=status)  # fmt: skip


def _mm_text(nm) -> str:
    """Return whole nm as mm with no figure lost, so that what is sent back unchanged changes nothing."""
    if nm is None:
        return ""
    whole, part = divmod(nm, 1_000_000)
    return f"{whole}.{part:06d}".rstrip("0").rstrip(".") + " mm"


def _as_told(plan, opening) -> dict:
    limits = {name: f"{getattr(plan, f'{name}_permille') / 10:g}" for name in ("step", "closing", "narrow", "wide")}
    return {"seam": _mm_text(plan.planned_seam_nm), "stock": _mm_text(opening.stock_width_nm),
            "seen": limits_as_seen(plan, opening), **limits}  # fmt: skip


def _change(request, draft, opening, form, told):
    """Write it; return a form of None where it went in, else the status and the form with what was typed."""
    stock = form.cleaned_data["stock"]
    try:
        change_limits(
            draft.revision, opening, planned_seam_nm=form.cleaned_data["seam"].nm, limits=form.limits,
            stock_width_nm=stock.nm if stock else None, seen=form.cleaned_data["seen"],
            person=draft.visit.person, now=request.now,
        )  # fmt: skip
    except NotPossible as why:
        form.add_error(None, why.sentence)
        return 409, form
    except Conflict as newer:
        theirs = _as_told(*newer.theirs)
        sent = request.POST.copy()
        sent["seen"] = theirs["seen"]
        again = LimitsForm(sent, **told)
        again.is_valid()
        again.add_error(None, newer.sentence + " " + _(
            "Now: seam %(seam)s, step %(step)s %%, closing %(closing)s %%, narrowest %(narrow)s %%, "
            "widest %(wide)s %%, stock %(stock)s. What you typed is below; send it again to put it."
        ) % (theirs | {"stock": theirs["stock"] or _("not told")}))
        return 409, again
    return 200, None


limits.room = "plan"
