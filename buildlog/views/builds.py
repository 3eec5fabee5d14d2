"""The builds of an account, and a build's name, scale and sides."""

import uuid

from django.core.exceptions import PermissionDenied
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from buildlog.access import build_to_plan, build_to_read
from buildlog.actions import builds as actions
from buildlog.actions.accounts import open_build
from buildlog.actions.conflict import Conflict, NotPossible
from buildlog.forms.builds import RenameForm, ScaleForm, SidesForm, StartForm
from buildlog.queries.builds import BuildOfAccount, build_to_open, builds_of_account, first_run_step
from buildlog.queries.plans import revision_in_force

from .first_run import ask, changed_meanwhile, go_on, page_url, typed_before
from .restarts import meets_after_break

page_and_form = require_http_methods(["GET", "HEAD", "POST"])


@require_safe
def home(request):
    """Lead to the bench of the last build, to where its first run stands, or to the list."""
    found = build_to_open(request.user)
    if found is None:
        return redirect("build-list")
    return redirect(door_of(request, found))


def door_of(request, found) -> str:
    """Return where a build opens: its bench, its log where it has no planking, or its next open question; where
    the work was left, after a long break."""
    build = found.build
    if build.photographs_only:
        return reverse("log", args=[build.uuid])
    if found.is_set_up and found.role != "reader" and meets_after_break(request, build):
        return reverse("where-i-left-off", args=[build.uuid])
    if found.is_set_up or found.role in ("reader", "helper"):
        return reverse("bench", args=[build.uuid])
    return page_url(build, *first_run_step(build))


@require_safe
def build_list(request):
    builds = builds_of_account(request.user)
    own = [{"found": found, "url": build_open_url(found)} for found in builds if not found.build.is_sample]
    sample = next((build_open_url(found) for found in builds if found.build.is_sample), "")
    context = {"rows": own, "sample_url": sample, "may_start": request.user.may_start_builds}
    return render(request, "builds/list.html", context)


def build_open_url(found) -> str:
    return reverse("build-open", args=[found.build.uuid])


@require_safe
def build_open(request, build_uuid):
    """Go into a build, and remember it as the one the front page leads to."""
    visit = build_to_read(request, build_uuid)
    open_build(request.user, visit.build)
    found = BuildOfAccount(visit.build, visit.role, revision_in_force(visit.build) is not None)
    return redirect(door_of(request, found))


@page_and_form
def build_new(request):
    if not request.user.may_start_builds:
        raise PermissionDenied
    form = StartForm(request.POST if request.method == "POST" else None, initial={"build_uuid": uuid.uuid4()})
    if request.method == "POST" and form.is_valid():
        try:
            build = actions.start_build(
                request.user, name=form.cleaned_data["name"], photographs_only=form.photographs_only,
                now=request.now, build_uuid=form.cleaned_data["build_uuid"],
            )  # fmt: skip
            return _named(build)
        except Conflict as newer:
            form.add_error(None, newer.sentence)
    return render(request, "builds/name.html", {"form": form})


def _named(build):
    return redirect("log", build.uuid) if build.photographs_only else go_on(build, "build-name")


@page_and_form
def build_name(request, build_uuid):
    visit = build_to_plan(request, build_uuid)
    build = visit.build
    stands = {"name": build.name, "kind": "photographs" if build.photographs_only else "planking"}
    initial = stands | typed_before(build, "build-name") | {"version": build.version}
    form = RenameForm(request.POST if request.method == "POST" else None, initial=initial)
    if request.method == "POST" and form.is_valid():
        done = _try(form, actions.name_build, build, form.cleaned_data["version"],
                    name=form.cleaned_data["name"], photographs_only=form.photographs_only,
                    person=visit.person, now=request.now)  # fmt: skip
        if done:
            return _named(build)
    return ask(request, visit, "builds/name.html", "build-name", form, status=_status(form))


def _try(form, action, *args, **kwargs) -> bool:
    """Do a thing; what stands in its way is said on the form, with everything that was typed."""
    try:
        action(*args, **kwargs)
    except Conflict as newer:
        changed_meanwhile(form, newer)
        form.is_conflict = True
        return False
    except NotPossible as why:
        form.add_error(why.field if why.field in form.fields else None, why.sentence)
        return False
    return True


def _status(form) -> int:
    return 409 if getattr(form, "is_conflict", False) else 200


@page_and_form
def build_scale(request, build_uuid):
    visit = build_to_plan(request, build_uuid)
    build = visit.build
    stands = {"scale": build.scale_text, "reading_unit": build.reading_unit}
    initial = stands | typed_before(build, "build-scale") | {"version": build.version}
    form = ScaleForm(request.POST if request.method == "POST" else None, initial=initial)
    if request.method == "POST" and form.is_valid():
        done = _try(form, actions.set_scale, build, form.cleaned_data["version"],
                    scale=form.cleaned_data["scale"], reading_unit=form.cleaned_data["reading_unit"],
                    person=visit.person, now=request.now)  # fmt: skip
        if done:
            return go_on(build, "build-scale")
    return ask(request, visit, "builds/scale.html", "build-scale", form, status=_status(form))


@page_and_form
def build_sides(request, build_uuid):
    visit = build_to_plan(request, build_uuid)
    build = visit.build
    if revision_in_force(build):
        return redirect("plan", build.uuid)
    initial = _sides_told(build) | typed_before(build, "build-sides") | {"version": build.version}
    form = SidesForm(request.POST if request.method == "POST" else None, initial=initial)
    if request.method == "POST" and form.is_valid():
        done = _try(form, actions.set_sides, build, form.cleaned_data["version"],
                    sides=form.cleaned_data["sides"], layers=form.layers,
                    layer=form.layer_number, runs=form.cleaned_data["runs"],
                    person=visit.person, now=request.now)  # fmt: skip
        if done:
            return go_on(build, "build-sides")
    return ask(request, visit, "builds/sides.html", "build-sides", form, status=_status(form))


def _sides_told(build) -> dict:
    told = build.first_run
    opening = build.openings.first()
    layer = "single"
    if told.get("layers") == 2:
        layer = "second" if opening and opening.layer == 2 else "first"
    return {"sides": build.sides, "layer": layer, "runs": told.get("runs", "both")}


build_name.room = build_scale.room = "plan"
