"""The bench: what to hang next, the buttons of the moment, one warning at most, the last thing with Undo."""

from django.contrib import messages
from django.http import HttpResponseBadRequest
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from buildlog import access
from buildlog.actions.conflict import Conflict, NotPossible
from buildlog.actions.sessions import local_date
from buildlog.actions.undo import undo_thing
from buildlog.actions.warnings import hide_warning
from buildlog.drawn.cut_cards import card_pictures
from buildlog.drawn.heads import standing_hull
from buildlog.forms.bench import NotNowForm, UndoForm
from buildlog.forms.lengths import ruler_of, scale_of
from buildlog.measuring.cut_cards import card_to_cut
from buildlog.measuring.headings import heading_of
from buildlog.queries.bench import is_measured, last_hung, strakes_to_choose, widths_to_say
from buildlog.queries.clocks import running_clock
from buildlog.queries.last_things import last_thing, session_of_this_evening
from buildlog.queries.warnings import first_warning
from buildlog.queries.writings import word_for_next_time

from .widths import entry_of, form_defaults

# These warnings say themselves where the planking is heading.
SAY_WHERE = ("spread_it", "change_plan")


@require_safe
def bench(request, build_uuid):
    visit = access.build_to_read(request, build_uuid)
    hull = standing_hull(visit)
    chosen = _chosen(hull, request.GET.get("strake", ""))
    session = session_today(visit, request.now)
    context = {
        "visit": visit, "build": visit.build, "hull": hull, "session": session,
        "last": last_thing_of(visit, session, request.now), "last_hung": last_hung(hull),
        "clock": running_clock(visit.build, visit.person, request.now),
        "word": word_for_next_time(visit.build, local_date(visit.build, request.now)),
        "choices": strakes_to_choose(hull), "chooses": "choose" in request.GET,
    }  # fmt: skip
    if chosen:
        context |= _of_strake(request, visit, hull, *chosen)
    return render(request, "bench/bench.html", context)


def _chosen(hull, strake_uuid):
    """Return the opening and strake on the bench: the one asked for, else the next to hang."""
    for opening in hull.openings:
        for strake in hull.strakes.get(opening.pk, []):
            if strake_uuid and str(strake.plan.strake.uuid) == strake_uuid:
                return opening, strake
    return (hull.next.opening, hull.next.strake) if hull.next else None


def _of_strake(request, visit, hull, opening, strake):
    row = strake.plan.strake
    row.opening = opening
    opening.build = visit.build
    card = card_to_cut(visit.build, row, hull.revision, strake.state)
    reviews = [(o, hull.review(o)) for o in sorted(hull.openings_here(), key=lambda o: o.pk != opening.pk)]
    card = card and card.at_stations(all_of_them=False)
    entry = entry_of(visit, row, typed={}) if visit.may_record else None
    review = hull.review(opening)
    warning = first_warning(
        visit.build, visit.person, card=card, state=strake.state, reviews=reviews, now=request.now
    ) if visit.may_record else None
    return {
        "opening": opening, "trouble": hull.trouble(opening), "strake": row, "card": card, "state": strake.state,
        "entry": entry, "other_unit": _other_unit(visit.build, entry),
        "form": entry.form(draft=form_defaults(entry)) if entry else None,
        "instruments": entry.instruments if entry else [], "instrument": entry.instrument if entry else None,
        "pictures": card_pictures(card, "bench") if card else None,
        "scale": scale_of(visit.build), "say": widths_to_say(card, review), "is_next": hull.is_next(strake),
        "gap_due": bool(review and review.gap_checks_due), "review": review,
        "warning": warning, "heading": "" if warning and warning.kind in SAY_WHERE else heading_of(review),
        "is_measured": is_measured(row),
    }  # fmt: skip


def _other_unit(build, entry) -> str:
    """Return what is read here in words, where it is not the mm that all is said in; else nothing."""
    ruler = entry.ruler if entry else ruler_of(build)
    return "" if ruler.unit == "mm" else ruler.unit_words


def session_today(visit, now):
    """Return this person's session of today, if one was begun."""
    if visit.person is None:
        return None
    today = local_date(visit.build, now)
    return visit.build.sessions.filter(local_date=today, by=visit.person).order_by("-opened_at").first()


def last_thing_of(visit, today, now):
    """Return what Undo takes back: of this evening, which may have begun before midnight, else of today."""
    return last_thing(visit.build, visit.person, session_of_this_evening(visit.build, visit.person, now) or today)


@require_POST
def undo(request, build_uuid):
    visit = access.build_to_record(request, build_uuid)
    form = UndoForm(request.POST)
    thing = last_thing_of(visit, session_today(visit, request.now), request.now)
    if not form.is_valid() or thing is None or thing.token != form.cleaned_data["thing"]:
        messages.info(request, _("That was undone already, or something came after it. Nothing was changed."))
        return redirect("bench", visit.build.uuid)
    try:
        undo_thing(thing, person=visit.person, now=request.now)
        messages.success(request, _("Undone: %(what)s.") % {"what": thing.words})
    except (Conflict, NotPossible) as refused:
        messages.info(request, refused.sentence)
    return redirect("bench", visit.build.uuid)


@require_POST
def not_now(request, build_uuid):
    visit = access.build_to_record(request, build_uuid)
    form = NotNowForm(request.POST)
    if not form.is_valid():
        return HttpResponseBadRequest(
            _("This warning is not known."), content_type="text/plain; charset=utf-8"
        )
    hide_warning(
        visit.build, person=visit.person, fingerprint=form.cleaned_data["fingerprint"], now=request.now
    )
    return redirect("bench", visit.build.uuid)


undo.room = not_now.room = "bench"
