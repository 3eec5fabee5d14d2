"""New widths from a gap: read it again, look at what it asks for, put that in force as the next revision.

A builder who is not the owner proposes it instead.
"""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from buildlog.access import build_to_plan, of_build
from buildlog.actions.conflict import Conflict, NotPossible
from buildlog.actions.new_widths import put_new_widths
from buildlog.drawn.heads import standing_hull
from buildlog.drawn.recut_steps import recut_steps_of
from buildlog.forms.lengths import scale_of
from buildlog.forms.new_widths import LeftForm, ModeForm, PutInForceForm
from buildlog.measuring.new_widths import new_widths_of
from buildlog.measuring.offers import in_the_way_of, no_fit_of, offers_of, recuts_of
from buildlog.models import Opening
from buildlog.queries.revisions import cards_made_void, cards_standing


def _room(view):
    """These pages belong to the room Plan."""
    view.room = "plan"
    return view


@_room
@require_safe
def choose(request, build_uuid):
    """Go to the side whose strake is next, or to the plan where nothing is left."""
    visit = build_to_plan(request, build_uuid)
    hull = standing_hull(visit)
    if hull.revision is None:
        return redirect("first-plan", visit.build.uuid)
    if hull.next is None:
        messages.info(request, _("Every strake is in hand or hung; there are no widths to change."))
        return redirect("plan", visit.build.uuid)
    return redirect("new-widths", visit.build.uuid, hull.next.opening.uuid)


def _opening_of(visit, opening_uuid):
    return of_build(Opening.objects.select_related("build"), visit.build, uuid=opening_uuid)


def _found(visit, opening, left=None):
    hull = standing_hull(visit)
    return new_widths_of(opening, hull.strakes.get(opening.pk, []), hull.stations, left=left)


@_room
@require_safe
def detail(request, build_uuid, opening_uuid):
    """Show what the gaps read last ask for; nothing changes by looking."""
    visit = build_to_plan(request, build_uuid)
    opening = _opening_of(visit, opening_uuid)
    left_form = LeftForm(request.GET if "left" in request.GET else None)
    left = left_form.cleaned_data["left"] if left_form.is_bound and left_form.is_valid() else None
    found = _found(visit, opening, left)
    mode_form = ModeForm(request.GET)
    mode = (mode_form.cleaned_data["mode"] if mode_form.is_valid() else "") or "even"
    if not left_form.is_bound:
        left_form = LeftForm(initial={"left": found.left})
    form = PutInForceForm(
        initial={"serial": opening.serial, "left": found.left, "reason": _usual_reason(found), "mode": mode}
    )
    return _page(request, visit, found, left_form, form, mode=mode)


def _usual_reason(found) -> str:
    if found.added:
        return _("Another number of strakes for the gap that was read.")
    return _("The strakes left share the gap that was read.")


def _page(request, visit, found, left_form, form, status=200, mode="even"):
    hull = standing_hull(visit)
    recuts = recuts_of(found)
    offers = offers_of(found, recuts, _of_other_numbers(visit, found))
    found = in_the_way_of(found, offers, mode)
    context = {
        "visit": visit, "build": visit.build, "opening": found.opening, "found": found,
        "scale": scale_of(visit.build),
        "left_form": left_form, "form": form, "table": _table(found), "by_strake": found.shares[::-1],
        "revision": hull.revision, "offers": offers, "mode": mode, "no_fit": no_fit_of(found, recuts),
        "cards": cards_standing(visit.build, _changed(found)),
        "steps": recut_steps_of(found, offers, mode, request.GET.get("at", "")),
        "others": [o for o in hull.openings_here() if o.pk != found.opening.pk],
    }  # fmt: skip
    return render(request, "new_widths/detail.html", context, status=status)


def _of_other_numbers(visit, found) -> list:
    """Return the same gap shared by a strake fewer and by a strake more."""
    if found.added or not found.shares:
        return []
    return [_found(visit, found.opening, left) for left in (found.left - 1, found.left + 1) if left > 0]


def _changed(found) -> set[int]:
    """Return the strakes whose width is another than their plan says, and those left out."""
    gone = {s.plan.strake_id for s in found.left_out}
    return gone | {pk for s in found.shares for pk, nm in s.widths.items() if pk > 0 and nm != s.was.get(pk)}


def _table(found) -> list:
    """Return one row a strake, wale side first, with its new width and what it was at each station read."""
    rows = []
    keys = [s.plan.strake_id for s in found.open_strakes] + [-n for n in range(1, found.added + 1)]
    gone = {s.plan.strake_id for s in found.left_out}
    for key in reversed(keys):
        cells = [
            {"width_nm": s.widths.get(key), "was_nm": s.was.get(key), "station": s.station}
            for s in reversed(found.shares)
        ]
        rows.append({"label": found.labels[key], "is_new": key < 0, "is_left_out": key in gone, "cells": cells})
    return rows


@_room
@require_POST
def put(request, build_uuid, opening_uuid):
    """Put the new widths in force as the next revision."""
    visit = build_to_plan(request, build_uuid)
    opening = _opening_of(visit, opening_uuid)
    form = PutInForceForm(request.POST)
    left = form.cleaned_data["left"] if form.is_valid() else None
    found = _found(visit, opening, left)
    left_form = LeftForm(initial={"left": found.left})
    if not form.is_valid():
        return _page(request, visit, found, left_form, form)
    mode = form.cleaned_data["mode"] or "even"
    if mode != "even":
        found = in_the_way_of(found, offers_of(found, recuts_of(found)), mode)
    try:
        _refuse_what_cannot_be(found)
        revision = put_new_widths(
            opening, {share.station: share.widths for share in found.shares},
            serial=form.cleaned_data["serial"],
            seam_nm=found.seam_nm, reason=form.cleaned_data["reason"], person=visit.person, now=request.now,
            left_out=[s.plan.strake_id for s in found.left_out], added=max(found.added, 0),
            propose_it=not visit.may_own,
        )  # fmt: skip
    except NotPossible as why:
        form.add_error(None, why.sentence)
        return _page(request, visit, found, left_form, form, mode=mode)
    except Conflict as newer:
        return _newer(request, visit, form, newer)
    return _done(request, visit, opening, revision)


def _done(request, visit, opening, revision):
    """Go where the cards that are void now stand with *Print again*; to the plan where there are none."""
    if revision.number is None:
        messages.success(request, _("Proposed. It waits for the owner's yes; until then the plan in force stands."))
        return redirect("revision-detail", visit.build.uuid, revision.uuid)
    sentence = _("Revision %(number)d is in force. Cards printed before may be old; throw those away.")
    messages.success(request, sentence % {"number": revision.number})
    if cards_made_void(revision):
        return redirect("revision-detail", visit.build.uuid, revision.uuid)
    return redirect(reverse("plan", args=[visit.build.uuid]) + f"?side={opening.side}")


def _refuse_what_cannot_be(found):
    if not found.shares:
        raise NotPossible(_("No gap was read on this side yet, so there is nothing to share."))
    if found.trouble:
        raise NotPossible(found.trouble)
    if found.added and found.missing:
        names = ", ".join(station.name for station in found.missing)
        raise NotPossible(
            _("With another number of strakes every place has other widths: read the gap at %(at)s too.")
            % {"at": names}
        )


def _newer(request, visit, form, newer):
    """Show the widths as they are now, with the reason that was typed; sent again it counts for these."""
    opening = newer.theirs
    visit.__dict__.pop("_hull", None)
    found, mode = _found(visit, opening), form.cleaned_data["mode"] or "even"
    again = PutInForceForm(
        initial={"serial": opening.serial, "left": found.left, "reason": form.cleaned_data["reason"], "mode": mode}
    )
    messages.warning(request, newer.sentence)
    return _page(request, visit, found, LeftForm(initial={"left": found.left}), again, status=409, mode=mode)
