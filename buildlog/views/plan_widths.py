"""A draft of the plan edited in place: the widths by strake and station, each station's sum beside them."""

from dataclasses import dataclass
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from buildlog import access
from buildlog.actions.conflict import Conflict, NotPossible
from buildlog.actions.plan_widths import CellsConflict, CellTyped, put_shares, write_cells
from buildlog.drawn.plan_widths import edit_table
from buildlog.forms.lengths import scale_of
from buildlog.forms.plan_widths import DivideForm, cell_ruler, read_row, shown_in_cell, size_told
from buildlog.measuring.plan_widths import PlankingError, divide
from buildlog.models import Opening, PlanRevision, Strake
from buildlog.queries.plan_widths import draft_opening, locked_because
from buildlog.queries.plans import openings_of


@dataclass
class Draft:
    """A draft as one account edits it."""

    visit: access.Visit
    revision: PlanRevision
    size: str
    what: str = "width"

    @property
    def build(self):
        return self.visit.build

    @property
    def ruler(self):
        return cell_ruler(self.build, self.size)

    def url(self, opening) -> str:
        query = f"?side={opening.side}" + ("&size=full" if self.size == "full" else "")
        query += "&what=thickness" if self.what == "thickness" else ""
        return reverse("revision-edit", args=[self.build.uuid, self.revision.uuid]) + query


def draft_of(request, build_uuid, revision_uuid, *, once=False) -> Draft:
    """Return a draft for one who may plan; ``once``: also what was a draft once, so that a page can say so."""
    visit = access.build_to_plan(request, build_uuid)
    revisions = PlanRevision.objects.select_related("build")
    revision = access.of_build(revisions, visit.build, uuid=revision_uuid)
    if request.method != "POST" and not once and revision.state != PlanRevision.State.DRAFT:
        raise Http404
    sent = request.POST if request.method == "POST" else request.GET
    what = "thickness" if sent.get("what") == "thickness" else "width"
    return Draft(visit, revision, size_told(sent.get("size"), visit.build), what)


def opening_of_draft(draft, **fields) -> Opening:
    return access.of_build(Opening.objects.select_related("build"), draft.build, **fields)


@require_safe
def edit(request, build_uuid, revision_uuid):
    draft = draft_of(request, build_uuid, revision_uuid, once=True)
    if draft.revision.state != PlanRevision.State.DRAFT:
        messages.info(request, _("This revision is no draft any more, so its plan stands. Begin another draft."))
        return redirect("plan", draft.build.uuid)
    openings = openings_of(draft.build)
    if not openings:
        return redirect("plan", draft.build.uuid)
    shown = next((o for o in openings if o.side == request.GET.get("side")), openings[0])
    return _page(request, draft, draft_opening(draft.revision, shown))


def _page(request, draft, held, *, typed=None, refused="", status=200):
    """Show the table of one opening; ``typed`` maps (strake uuid, station pk) to what did not go in."""
    table = _table(draft, held, typed or {})
    others = [o for o in openings_of(draft.build) if o.pk != held.opening.pk]
    return render(request, "plan_widths/edit.html", {
        "visit": draft.visit, "build": draft.build, "revision": draft.revision, "opening": held.opening,
        "table": table, "others": others, "refused": refused, **_written(draft),
    }, status=status)  # fmt: skip


def _table(draft, held, typed):
    return edit_table(held, lambda width: shown_in_cell(width, draft.ruler, draft.what), typed, draft.what)


def _written(draft) -> dict:
    return {"what": draft.what, "scale": scale_of(draft.build), "size": draft.size, "full": draft.size == "full",
            "ruler": draft.ruler}  # fmt: skip


def strake_of_draft(draft, strake_uuid):
    return access.of_build(
        Strake.objects.select_related("opening__build"), draft.build, lookup="opening__build", uuid=strake_uuid
    )


@require_POST
def row(request, build_uuid, revision_uuid, strake_uuid):
    """Save the cells of one strake: the way without script."""
    draft = draft_of(request, build_uuid, revision_uuid)
    strake = strake_of_draft(draft, strake_uuid)
    saved = _save(request, draft, strake)
    if not saved.typed and not saved.refused:
        return redirect(draft.url(strake.opening))
    held = draft_opening(draft.revision, strake.opening)
    typed = {(strake.uuid, pk): told for pk, told in saved.typed.items()}
    return _page(request, draft, held, typed=typed, refused=saved.refused, status=saved.status)


@require_POST
def cell(request, build_uuid, revision_uuid, strake_uuid, station_uuid):
    """Save one cell and answer it with the sum of its station."""
    draft = draft_of(request, build_uuid, revision_uuid)
    strake = strake_of_draft(draft, strake_uuid)
    station = access.of_build(draft.build.stations, draft.build, uuid=station_uuid)
    saved = _save(request, draft, strake)
    if not request.htmx:
        return redirect(draft.url(strake.opening))
    held = saved.draft or draft_opening(draft.revision, strake.opening)
    typed = {(strake.uuid, pk): told for pk, told in saved.typed.items()}
    if saved.refused:
        typed[strake.uuid, station.pk] = {"text": request.POST.get(f"w-{station.pk}", ""), "problem": saved.refused}
    table = _table(draft, held, typed)
    found = table.cell(strake.uuid, station.pk)
    if found is None:
        return HttpResponse(saved.refused, status=409)
    return render(request, "plan_widths/_saved.html", {
        "build": draft.build, "revision": draft.revision, "opening": strake.opening, "row": found[0],
        "cell": found[1], "keel_side": table.keel_side(found[0], station.pk),
        "sum": table.sum_at(station.pk), "table": table, "told": f"told-{station.pk}" in request.POST,
        **_written(draft),
    }, status=saved.status)  # fmt: skip


@dataclass
class Saved:
    """What became of the cells sent: ``typed`` holds, by station pk, what did not go in and why."""

    typed: dict
    refused: str = ""
    status: int = 200
    draft: object = None


def _save(request, draft, strake) -> Saved:
    stations = list(draft.build.stations.order_by("position"))
    plan = strake.plans.filter(revision=draft.revision).first()
    typed = read_row(request.POST, label=plan.label if plan else "", stations=stations, ruler=draft.ruler,
                     what=draft.what)  # fmt: skip
    saved = Saved({pk: {"text": c.text, "problem": c.problem} for pk, c in typed.problems.items()})
    good = [c for c in typed.cells if not c.problem]
    if not good and saved.typed:
        return saved
    try:
        saved.draft = write_cells(
            draft.revision, strake.opening, strake.uuid, [_as_cell(c, draft.what) for c in good],
            person=draft.visit.person, now=request.now,
        )  # fmt: skip
    except NotPossible as why:
        saved.refused, saved.status = why.sentence, 409
        saved.typed |= {c.station.pk: {"text": c.text, "problem": why.sentence} for c in good}
    except CellsConflict as newer:
        saved.status = 409
        saved.typed |= {
            c.station.pk: {"text": c.text, "problem": newer.sentence if c.station.pk in newer.theirs else "",
                           "theirs": c.station.pk in newer.theirs}
            for c in good
        }  # fmt: skip
    return saved


def _as_cell(typed, what) -> CellTyped:
    if typed.length is None:
        return CellTyped(typed.station, typed.seen_nm, None, what=what)
    length = typed.length
    return CellTyped(typed.station, typed.seen_nm, length.nm, typed.text, length.unit, length.size, what)


@require_http_methods(["GET", "HEAD", "POST"])
def share(request, build_uuid, revision_uuid, opening_uuid):
    """Give what is left at stations to the strakes that are chosen."""
    draft = draft_of(request, build_uuid, revision_uuid)
    opening = opening_of_draft(draft, uuid=opening_uuid)
    held = draft_opening(draft.revision, opening)
    open_strakes = [s for s in reversed(held.strakes) if not locked_because(s)]
    offered = {"open_strakes": open_strakes, "stations": held.stations[::-1]}
    if request.method == "POST":
        form = DivideForm(request.POST, **offered)
        if form.is_valid() and _give(request, draft, held, form):
            return redirect(draft.url(opening))
    else:
        form = DivideForm(initial=_usual(request, held, open_strakes), **offered)
    return render(request, "plan_widths/share.html", {
        "visit": draft.visit, "build": draft.build, "revision": draft.revision, "opening": opening, "form": form,
        "sums": held.sums()[::-1], "back": draft.url(opening), "open_strakes": open_strakes, **_written(draft),
    })  # fmt: skip


def _usual(request, held, open_strakes) -> dict:
    """Offer the station that was asked from, else those that do not close; the strakes of one belt."""
    asked = next((s for s in held.stations if str(s.uuid) == request.GET.get("at")), None)
    wanted = [asked] if asked else [one.station for one in held.sums() if one.left_nm]
    belt = next((s.plan.belt_id for s in open_strakes), None)
    chosen = [s for s in open_strakes if s.plan.belt_id == belt]
    return {"how": "add", "stations": [str(s.uuid) for s in wanted],
            "strakes": [str(s.plan.strake.uuid) for s in chosen]}  # fmt: skip


def _give(request, draft, held, form) -> bool:
    """Divide and write; what cannot be is said on the form, with the station's name."""
    chosen = {UUID(one) for one in form.cleaned_data["strakes"]}
    stations = [s for s in held.stations if str(s.uuid) in form.cleaned_data["stations"]]
    equal = form.cleaned_data["how"] == "equal"
    try:
        found = [divide(held, s, chosen, equal=equal, scale=scale_of(draft.build)) for s in stations]
        put_shares(
            draft.revision, held.opening, {one.station: one.widths_nm for one in found},
            person=draft.visit.person, now=request.now,
        )  # fmt: skip
    except PlankingError as cannot:
        form.add_error(None, cannot.sentence)
        return False
    except (NotPossible, Conflict) as refused:
        form.add_error(None, refused.sentence)
        return False
    messages.success(request, " · ".join(f"{one.station.name}: {one.words}" for one in found[:4]))
    return True


edit.room = row.room = cell.room = share.room = "plan"
