"""Girths by station: the table of both sides, their entry from paper strips, and the drawing's own."""

from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from buildlog import access
from buildlog.actions.girths import record_girths, set_drawing_girths
from buildlog.drawn.heads import standing_hull
from buildlog.forms.girths import GUESS_FAR_PERCENT, DrawingGirthsForm, GirthsForm
from buildlog.forms.lengths import FAR_PERCENT, ruler_of
from buildlog.forms.takes import Place, decimals_of, next_take_name
from buildlog.measuring.girths import girth_tables
from buildlog.models import Opening
from buildlog.queries import girths as queries
from buildlog.queries.gaps import instrument_for

from .entries import as_json, both_shown, kept_readings, wants_json
from .known_on import standing_on


@require_safe
def girth_list(request, build_uuid):
    visit = access.build_to_read(request, build_uuid)
    known = standing_on(request, visit)
    tables = girth_tables(known.hull)
    return render(request, "girths/list.html", {
        "visit": visit, "build": visit.build, "known": known, "tables": tables,
        "may_draw": visit.may_plan and known.hull.revision is not None,
    })  # fmt: skip


@dataclass(frozen=True)
class GirthEntry:
    """What the entry of one opening's girths stands on."""

    visit: access.Visit
    opening: Opening
    hull: object

    @property
    def places(self) -> list[Place]:
        """Every station, with the girth that is likely there and where that is known from."""
        likely = queries.expected_girths(self.hull.revision, self.opening, self._twin, self.hull.stations)
        return [_place(station, likely.get(station.pk)) for station in self.hull.stations]

    @property
    def _twin(self) -> Opening | None:
        return next((one for one in _both_sides(self.hull, self.opening) if one.pk != self.opening.pk), None)

    def form(self, data=None, *, draft=None, saved=None) -> GirthsForm:
        typed = data if data is not None else draft or {}
        ruler = ruler_of(self.visit.build)
        return GirthsForm(
            data, draft=draft, places=self.places, ruler=ruler, decimals=decimals_of(None, ruler.unit),
            hung=queries.hung_at_stations(self.hull.revision, self.opening),
            saved=kept_readings(self.visit.build, typed) if saved is None else saved,
        )  # fmt: skip


def _both_sides(hull, opening) -> list[Opening]:
    return [one for one in hull.openings if (one.layer, one.position) == (opening.layer, opening.position)]


def _place(station, likely) -> Place:
    if likely is None:
        return Place(station)
    far_percent = GUESS_FAR_PERCENT if likely.is_guess else FAR_PERCENT
    return Place(station, likely.nm, expected_words=likely.words, wanted_word=likely.short, far_percent=far_percent,
                 is_shown=bool(likely.short))  # fmt: skip


def _entry(request, build_uuid, opening_uuid) -> GirthEntry:
    visit = access.build_to_record(request, build_uuid)
    opening = access.of_build(Opening.objects.select_related("build"), visit.build, uuid=opening_uuid)
    return GirthEntry(visit, opening, standing_hull(visit))


@require_http_methods(["GET", "HEAD", "POST"])
def record(request, build_uuid, opening_uuid):
    entry = _entry(request, build_uuid, opening_uuid)
    if request.method != "POST":
        method = queries.method_last_used(entry.visit.build, entry.visit.person)
        return _page(request, entry, entry.form(draft={"method": method}))
    form = entry.form(request.POST)
    valid = form.is_valid()
    saved = _save(request, entry, form)
    if wants_json(request):
        return as_json(form, saved, next_url=reverse("girth-list", args=[entry.visit.build.uuid]))
    if saved and saved.conflicts:
        draft, both = both_shown(form, saved)
        again = entry.form(draft=draft, saved=form.saved | saved.readings)
        return _page(request, entry, again, saved, both, status=409)
    if not valid or saved is None:
        form.saved |= saved.readings if saved else {}
        return _page(request, entry, form, saved)
    return _done(request, entry)


def _save(request, entry, form):
    """Save what can be saved. While the way of reading is in question, nothing is: it holds for every figure."""
    if "method" in form.errors:
        return None
    takes = form.takes()
    if not takes:
        return None
    visit, method = entry.visit, form.cleaned_data["method"]
    return record_girths(
        visit.build, entry.opening, takes, method=method, person=visit.person, account=request.user, now=request.now,
        instrument=instrument_for(visit.build, method, visit.person), jaws_reason=form.jaws_reason,
        happened_at=request.kept_at, known_at=request.kept_at,
    )  # fmt: skip


def _page(request, entry, form, saved=None, conflicts=None, status=200):
    template = "girths/_entry.html" if request.htmx else "girths/entry.html"
    return render(request, template, {
        "visit": entry.visit, "build": entry.visit.build, "opening": entry.opening, "form": form, "saved": saved,
        "conflicts": conflicts,
    }, status=status)  # fmt: skip


def _done(request, entry):
    where = reverse("girth-list", args=[entry.visit.build.uuid])
    return HttpResponse(headers={"HX-Redirect": where}) if request.htmx else redirect(where)


@require_POST
def redraw(request, build_uuid, opening_uuid):
    """Draw the entry again with what is typed and one more take of a station."""
    entry = _entry(request, build_uuid, opening_uuid)
    draft = request.POST.copy()
    name = next_take_name(entry.form(draft=draft), draft.get("again", ""))
    if name:
        draft[name] = ""
    return _page(request, entry, entry.form(draft=draft))


@require_http_methods(["GET", "HEAD", "POST"])
def drawing(request, build_uuid, opening_uuid):
    """Ask what the drawing says at each station; both sides of the hull are drawn alike."""
    visit = access.build_to_plan(request, build_uuid)
    opening = access.of_build(Opening.objects.select_related("build"), visit.build, uuid=opening_uuid)
    hull = standing_hull(visit)
    data = request.POST if request.method == "POST" else None
    form = _drawing_form(visit, hull, opening, data)
    if data is not None and hull.revision is not None and form.is_valid():
        set_drawing_girths(hull.revision, _both_sides(hull, opening), form.typed(), reasons=form.reasons,
                           person=visit.person, now=request.now)  # fmt: skip
        return redirect("girth-list", visit.build.uuid)
    context = {"visit": visit, "build": visit.build, "opening": opening, "form": form, "revision": hull.revision}
    return render(request, "girths/drawing.html", context)


def _drawing_form(visit, hull, opening, data) -> DrawingGirthsForm:
    drawn = {pk: nm for (one, pk), nm in queries.drawing_girths(hull.revision).items() if one == opening.pk}
    most: dict = {}
    for side in _both_sides(hull, opening):
        for at, hung in queries.hung_at_stations(hull.revision, side).items():
            most[at] = max(hung, most.get(at, hung), key=lambda one: one.nm)
    return DrawingGirthsForm(
        data, stations=hull.stations, ruler=ruler_of(visit.build), drawn=drawn, hung=most,
        planned=queries.planned_girths(hull.revision, opening),
    )  # fmt: skip


girth_list.room = record.room = redraw.room = drawing.room = "plan"
