"""The first plan: what hangs already, the gap at each station, the answer, and putting it in force."""

from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from buildlog.access import build_to_plan
from buildlog.actions import builds as actions
from buildlog.actions.first_plans import SideTold, put_first_plan
from buildlog.forms.first_plans import GapsForm, PlankingForm
from buildlog.forms.lengths import ruler_of, scale_of
from buildlog.measuring.first_answers import first_answer
from buildlog.queries.builds import first_run_step, told_of
from buildlog.queries.next_strake import next_strake
from buildlog.queries.plans import revision_in_force

from .builds import _status, _try
from .first_run import ask, go_on, page_url, typed_before

page_and_form = require_http_methods(["GET", "HEAD", "POST"])


def _too_early(build, page, side=""):
    """Return where to go instead, while an earlier question is open or a plan stands already."""
    if revision_in_force(build):
        return redirect("plan", build.uuid)
    order = ["build-scale", "build-sides", "station-count", "station-names", "first-plan-planking"]
    step, _side = first_run_step(build)
    if step in order and (page not in order or order.index(step) < order.index(page)):
        return redirect(page_url(build, step))
    return None


@page_and_form
def planking(request, build_uuid):
    visit = build_to_plan(request, build_uuid)
    build = visit.build
    elsewhere = _too_early(build, "first-plan-planking")
    if elsewhere:
        return elsewhere
    form = _planking_form(request, build)
    if request.method == "POST" and form.is_valid():
        stock = form.cleaned_data["stock"]
        told = {"sides": {side: form.told(side) for side in build.side_list}, "typed": form.typed}
        left_at = form.left_at if any(form.left_at) else None
        done = _try(form, actions.tell_planking, build, form.cleaned_data["version"], planking=told,
                    stock_width=stock.typed if stock else "", stock_width_nm=stock.nm if stock else None,
                    left_at=left_at, person=visit.person, now=request.now)  # fmt: skip
        if done:
            return go_on(build, "first-plan-planking")
    return ask(request, visit, "first_plans/planking.html", "first-plan-planking", form, status=_status(form),
               runs=build.first_run.get("runs", "both"))  # fmt: skip


def _planking_form(request, build):
    stations = list(build.stations.order_by("position"))
    told = build.first_run
    stands = dict(told.get("planking", {}).get("typed", {}))
    stands |= {f"left_{index}": here for index, here in enumerate(told.get("left_at") or []) if here}
    return PlankingForm(
        request.POST if request.method == "POST" else None,
        initial=stands | typed_before(build, "first-plan-planking") | {"version": build.version},
        sides=build.side_list, stations=stations, ruler=ruler_of(build),
    )  # fmt: skip


@page_and_form
def gaps(request, build_uuid, side):
    visit = build_to_plan(request, build_uuid)
    build = visit.build
    if side not in build.side_list:
        return redirect(page_url(build, *first_run_step(build)))
    elsewhere = _too_early(build, "first-plan-gaps", side)
    if elsewhere:
        return elsewhere
    told = told_of(build, side)
    form = _gaps_form(request, build, told)
    if request.method == "POST" and form.is_valid():
        done = _try(form, actions.tell_gaps, build, build.version, side=side, gaps=form.gaps(),
                    now=request.now)  # fmt: skip
        if done:
            return go_on(build, "first-plan-gaps", side)
    return ask(request, visit, "first_plans/gaps.html", "first-plan-gaps", form, side=side, told=told,
               ruler=form.ruler, may_skip=side != build.side_list[0], status=_status(form))  # fmt: skip


def _gaps_form(request, build, told):
    other = told_of(build, build.side_list[0])
    return GapsForm(
        request.POST if request.method == "POST" else None,
        initial=typed_before(build, "first-plan-gaps", told.side),
        stations=list(build.stations.order_by("position")),
        left_at=told.left_at, ruler=ruler_of(build),
        like_nm={i: gap["nm"] for i, gap in other.gaps.items()} if other.side != told.side else None,
        typed={index: gap["typed"] for index, gap in told.gaps.items()},
    )  # fmt: skip


@require_POST
def skip_gaps(request, build_uuid, side):
    """Measure the other side later."""
    visit = build_to_plan(request, build_uuid)
    build = visit.build
    if side not in build.side_list[1:] or _too_early(build, "first-plan-gaps", side):
        return redirect(page_url(build, *first_run_step(build)))
    actions.skip_gaps(build, build.version, side=side)
    return go_on(build, "first-plan-gaps", side)


@require_POST
def leave(request, build_uuid):
    """Go to the bench with no plan yet."""
    visit = build_to_plan(request, build_uuid)
    actions.leave_first_run(visit.build, now=request.now)
    return redirect("bench", visit.build.uuid)


@require_safe
def answer(request, build_uuid):
    """Gap divided by strakes left: the width of the next strakes, at each station."""
    visit = build_to_plan(request, build_uuid)
    build = visit.build
    elsewhere = _too_early(build, "first-plan")
    if elsewhere:
        return elsewhere
    answers = answers_of(build)
    if not answers:
        return redirect(page_url(build, *first_run_step(build)))
    return render(
        request,
        "first_plans/answer.html",
        {"visit": visit, "build": build, "answers": answers, "scale": scale_of(build),
         "put_url": reverse("first-plan-put", args=[build.uuid]),
         "back_url": page_url(build, "first-plan-gaps", answers[-1].side)},
    )  # fmt: skip


def answers_of(build) -> list:
    stations = list(build.stations.order_by("position"))
    found = []
    for opening in build.openings.all():
        told = told_of(build, opening.side)
        if told and told.gaps:
            gaps_nm = {index: gap["nm"] for index, gap in told.gaps.items()}
            found.append(first_answer(opening.side, stations, gaps_nm, told.left_at, opening.stock_width_nm))
    return found


@require_POST
def put(request, build_uuid):
    """Put the answer in force as revision 1, then show the cut card of the next strake."""
    visit = build_to_plan(request, build_uuid)
    _put(request, visit)
    following = next_strake(visit.build)
    if following is None:
        return redirect("bench", visit.build.uuid)
    return redirect("card-detail", visit.build.uuid, following.strake.plan.strake.uuid)


@require_POST
def put_and_go(request, build_uuid):
    """Put the answer in force as revision 1, then go to the bench."""
    visit = build_to_plan(request, build_uuid)
    _put(request, visit)
    return redirect("bench", visit.build.uuid)


def _put(request, visit) -> None:
    build = visit.build
    sides = [_side_told(opening, told_of(build, opening.side)) for opening in build.openings.all()]
    if revision_in_force(build) or None in sides or not any(side.gaps for side in sides):
        return
    put_first_plan(build, sides, runs=build.first_run.get("runs", "both"), person=visit.person,
                   account=request.user, now=request.now)  # fmt: skip


def _side_told(opening, told):
    if told is None:
        return None
    return SideTold(
        opening=opening, hung_keel=told.counts["hung_keel"], hung_wale=told.counts["hung_wale"],
        left_at=told.left_at, gaps=told.gaps, read_at=told.read_at,
    )  # fmt: skip
