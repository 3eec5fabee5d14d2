"""Measuring the gap of an opening, and the verdict that follows."""

from dataclasses import dataclass

from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from buildlog import access
from buildlog.actions.gaps import record_gaps
from buildlog.drawn.heads import standing_hull
from buildlog.forms.gaps import GapsForm
from buildlog.forms.lengths import ruler_of
from buildlog.forms.takes import Place, decimals_of, next_take_name
from buildlog.measuring.reviews import review_of
from buildlog.models import NM_PER_MM, Opening
from buildlog.queries import gaps as queries
from buildlog.queries.next_strake import next_strake

from .entries import as_json, both_shown, kept_readings, say_arrived, wants_json


@dataclass(frozen=True)
class GapEntry:
    """What the entry of one opening's gap stands on."""

    visit: access.Visit
    opening: Opening
    review: object
    stations: list
    shows_all: bool

    def form(self, data=None, *, draft=None, saved=None) -> GapsForm:
        typed = data if data is not None else draft or {}
        kept = kept_readings(self.visit.build, typed) if saved is None else saved
        ruler = ruler_of(self.visit.build)
        left = {one.station: len(one.left) for one in self.review.stations} if self.review else {}
        return GapsForm(
            data,
            places=self.places,
            ruler=ruler,
            decimals=decimals_of(None, ruler.unit),
            strakes_left=left,
            draft=draft,
            saved=kept,
        )

    @property
    def places(self) -> list[Place]:
        """The stations that still have a gap; those read by default unless all are asked for."""
        reviews = {one.station: one for one in self.review.stations} if self.review else {}
        open_ones = [s for s in self.stations if s.name not in reviews or reviews[s.name].left]
        some = [s for s in open_ones if s.read_by_default]
        shown = open_ones if self.shows_all or not some else some
        return [Place(station, _expected_nm(reviews.get(station.name))) for station in shown]


def _expected_nm(at) -> int | None:
    if at is None:
        return None
    mm = at.gap_mm if at.gap_mm is not None else at.planned_gap_mm
    return round(mm * NM_PER_MM) if mm and mm > 0 else None


def _entry(request, visit, opening_uuid, typed) -> GapEntry:
    opening = access.of_build(Opening.objects.select_related("build"), visit.build, uuid=opening_uuid)
    hull = standing_hull(visit)
    return GapEntry(visit, opening, hull.review(opening), hull.stations, typed.get("stations") == "all")


@require_http_methods(["GET", "HEAD", "POST"])
def record(request, build_uuid, opening_uuid):
    visit = access.build_to_record(request, build_uuid)
    entry = _entry(request, visit, opening_uuid, request.POST or request.GET)
    if request.method != "POST":
        return _page(
            request, entry, entry.form(draft={"method": queries.method_last_used(visit.build, visit.person)})
        )
    form = entry.form(request.POST)
    valid = form.is_valid()
    saved = _save(request, entry, form)
    if wants_json(request):
        if request.was_kept and saved and saved.created:
            review = review_of(entry.opening)
            say_arrived(request, entry.opening.get_side_display(), review.sentence if review else "")
        where = reverse("gaps-saved", args=[visit.build.uuid, opening_uuid])
        return as_json(form, saved, next_url=where, in_place=True)
    if saved and saved.conflicts:
        draft, both = both_shown(form, saved)
        return _page(
            request,
            entry,
            entry.form(draft=draft, saved=form.saved | saved.readings),
            saved,
            both,
            status=409,
        )
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
    return record_gaps(
        visit.build, entry.opening, takes, method=method, person=visit.person, account=request.user, now=request.now,
        instrument=queries.instrument_for(visit.build, method, visit.person), jaws_reason=form.jaws_reason,
        happened_at=request.kept_at, known_at=request.kept_at,
    )  # fmt: skip


def _page(request, entry, form, saved=None, conflicts=None, status=200):
    template = "gaps/_entry.html" if request.htmx else "gaps/entry.html"
    return render(request, template, {
        "visit": entry.visit, "build": entry.visit.build, "opening": entry.opening, "form": form, "saved": saved,
        "conflicts": conflicts, "shows_all": entry.shows_all, "review": entry.review,
    }, status=status)  # fmt: skip


def _done(request, entry):
    where = reverse("gaps-saved", args=[entry.visit.build.uuid, entry.opening.uuid])
    if not request.htmx:
        return redirect(where)
    response = _saved_page(request, entry.visit, entry.opening.uuid, "gaps/_saved.html")
    response["HX-Push-Url"] = where
    return response


@require_POST
def redraw(request, build_uuid, opening_uuid):
    """Draw the entry again with what is typed: all stations, or one more take of a station."""
    visit = access.build_to_record(request, build_uuid)
    entry = _entry(request, visit, opening_uuid, request.POST)
    draft = request.POST.copy()
    name = next_take_name(entry.form(draft=draft), draft.get("again", ""))
    if name:
        draft[name] = ""
    return _page(request, entry, entry.form(draft=draft))


@require_safe
def saved(request, build_uuid, opening_uuid):
    visit = access.build_to_read(request, build_uuid)
    return _saved_page(
        request, visit, opening_uuid, "gaps/_saved.html" if request.htmx else "gaps/saved.html"
    )


def _saved_page(request, visit, opening_uuid, template):
    opening = access.of_build(Opening.objects.select_related("build"), visit.build, uuid=opening_uuid)
    review = review_of(opening)
    return render(request, template, {
        "visit": visit, "build": visit.build, "opening": opening, "review": review, "rows": queries.gap_rows(review),
        "apart": queries.takes_apart(opening), "next": next_strake(visit.build),
    })  # fmt: skip


record.room = redraw.room = saved.room = "bench"
