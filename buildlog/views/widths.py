"""Recording one strake's widths, and what is said when they are saved."""

from dataclasses import dataclass, replace
from functools import cached_property

from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from buildlog import access
from buildlog.actions.widths import record_widths
from buildlog.drawn.heads import standing_hull
from buildlog.forms.lengths import ruler_of
from buildlog.forms.takes import Place, decimals_of, next_take_name
from buildlog.forms.widths import WidthsForm
from buildlog.measuring.cut_cards import card_to_cut, set_widths_now
from buildlog.measuring.headings import heading_of
from buildlog.measuring.strakes import strake_at_stations
from buildlog.models import Photo, PlanRevision, PlanStrake, Strake
from buildlog.queries import widths as queries
from buildlog.queries.bench import strakes_to_choose
from buildlog.queries.cut_cards import CutCard, lines_of
from buildlog.queries.planks import OPEN, StrakeState, states_of_strakes
from buildlog.queries.plans import label_of_strake, revision_in_force
from buildlog.queries.readings import all_readings
from buildlog.queries.sheets import sheet_of

from .entries import as_json, both_shown, kept_readings, say_arrived, wants_json


@dataclass(frozen=True)
class Entry:
    """What the entry of one strake stands on."""

    visit: access.Visit
    strake: Strake
    revision: PlanRevision | None
    state: StrakeState
    instruments: list
    instrument: object
    shows_all: bool
    # The photographed sheet that the figures are typed off, where there is one.
    sheet: Photo | None = None

    @cached_property
    def same_as(self) -> str:
        return queries.same_on_other_side(self.strake, self.revision)

    @cached_property
    def card(self) -> CutCard | None:
        return card_to_cut(self.visit.build, self.strake, self.revision, self.state)

    @property
    def stations(self) -> list[Place]:
        places = [Place(line.station, line.makes_nm, line.was_nm) for line in lines_of(self.strake, self.revision)]
        places = places or [Place(station) for station in self.visit.build.stations.order_by("position")]
        some = [place for place in places if place.station.read_by_default]
        return places if self.shows_all or not some else some

    @property
    def ruler(self):
        ruler = ruler_of(self.visit.build)
        return replace(ruler, unit=self.instrument.reading_unit) if self.instrument else ruler

    def form(self, data=None, *, draft=None, saved=None) -> WidthsForm:
        typed = data if data is not None else draft or {}
        kept = kept_readings(self.visit.build, typed) if saved is None else saved
        return WidthsForm(
            data, draft=draft, saved=kept, places=self.stations, ruler=self.ruler,
            decimals=decimals_of(self.instrument, self.ruler.unit),
            spread=queries.SpreadWhenAsked(self.strake.opening, self.visit.person),
            same_as=self.same_as if data is not None and data.get("same") else "",
        )  # fmt: skip


def entry_of(visit, strake, *, typed) -> Entry:
    """Return what the entry of a strake stands on; ``typed`` names the instrument and whether all stations
    show.
    """
    state = states_of_strakes([strake.pk]).get(strake.pk, OPEN)
    revision = PlanRevision.objects.filter(pk=state.revision_id).first() or revision_in_force(visit.build)
    instruments = queries.instruments_in_hand(visit.build)
    named = next((one for one in instruments if str(one.uuid) == typed.get("instrument")), None)
    return Entry(
        visit, strake, revision, state, instruments,
        named or queries.instrument_last_used(visit.build, visit.person, instruments),
        shows_all=typed.get("stations") == "all", sheet=sheet_of(visit.build, typed.get("sheet", "")),
    )  # fmt: skip


def strake_of(build, strake_uuid) -> Strake:
    """Return a strake that is, or was, in a plan in force; one of a draft alone is nothing to cut yet."""
    planned = PlanStrake.objects.filter(revision__number__isnull=False).values("strake")
    strakes = Strake.objects.select_related("opening__build").filter(pk__in=planned)
    return access.of_build(strakes, build, lookup="opening__build", uuid=strake_uuid)


@require_http_methods(["GET", "HEAD", "POST"])
def record(request, build_uuid, strake_uuid):
    visit = access.build_to_record(request, build_uuid)
    strake = strake_of(visit.build, strake_uuid)
    entry = entry_of(visit, strake, typed=request.POST or request.GET)
    if request.method != "POST":
        return _page(request, entry, entry.form(draft=form_defaults(entry)))
    form = entry.form(request.POST)
    valid = form.is_valid()
    saved = _save(request, entry, form)
    if wants_json(request):
        if request.was_kept and saved and saved.created:
            _say_arrived(request, visit, strake)
        return as_json(form, saved, next_url=_saved_url(entry), in_place=True)
    if saved and saved.conflicts:
        draft, both = both_shown(form, saved)
        again = entry.form(draft=draft, saved=form.saved | saved.readings)
        return _page(request, entry, again, saved=saved, conflicts=both, status=409)
    if not valid or saved is None:
        form.saved |= saved.readings if saved else {}
        return _page(request, entry, form, saved=saved)
    return _done(request, entry)


def form_defaults(entry) -> dict:
    return {"damp": "dry", "stage": "hung" if entry.state.is_hung else "cut"}


def _save(request, entry, form):
    """Save what can be saved; a figure that is asked about waits for its answer without holding up the rest."""
    if "damp" in form.errors or "stage" in form.errors:
        return None
    takes = form.takes()
    if not takes:
        return None
    return record_widths(
        entry.visit.build, entry.strake, takes, damp=form.cleaned_data["damp"], stage=form.cleaned_data["stage"],
        method=form.method, instrument=entry.instrument, person=entry.visit.person, account=request.user,
        now=request.now, happened_at=request.kept_at, known_at=request.kept_at, set_widths=_told_to_set(entry),
    )  # fmt: skip


def _say_arrived(request, visit, strake):
    """Say on the next page what widths came to that a hand did not wait for."""
    hull = standing_hull(visit)
    opening = next(one for one in hull.openings if one.pk == strake.opening_id)
    label, _state = _label_and_state(hull, strake)
    offs = {at.station.name: at.off_nm for at in strake_at_stations(hull, opening, label) if at.off_nm is not None}
    say_arrived(request, f"{opening.get_side_display()} {label}", queries.widths_in_words(offs))


def _told_to_set(entry) -> dict:
    """A strake taken in hand by its first figures was cut to its card; one in hand has kept what that said."""
    if entry.state.state != "open":
        return {}
    return set_widths_now(entry.visit.build, entry.strake, entry.revision)


def _page(request, entry, form, *, saved=None, conflicts=None, status=200):
    template = "widths/_entry.html" if request.htmx else "widths/entry.html"
    context = {
        "visit": entry.visit, "build": entry.visit.build, "strake": entry.strake, "card": entry.card, "form": form,
        "instruments": entry.instruments, "instrument": entry.instrument, "shows_all": entry.shows_all,
        "is_hung": entry.state.is_hung, "sheet": entry.sheet, "same_as": entry.same_as, "saved": saved,
        "conflicts": conflicts,
    }  # fmt: skip
    return render(request, template, context, status=status)


def _saved_url(entry) -> str:
    where = reverse("widths-saved", args=[entry.visit.build.uuid, entry.strake.uuid])
    return f"{where}?sheet={entry.sheet.uuid}" if entry.sheet else where


def _done(request, entry):
    where = _saved_url(entry)
    if not request.htmx:
        return redirect(where)
    response = _saved_page(request, entry.visit, entry.strake, "widths/_saved.html", entry.sheet)
    response["HX-Push-Url"] = where
    return response


@require_POST
def redraw(request, build_uuid, strake_uuid):
    """Draw the entry again with what is typed: another instrument, all stations, or one more take of a
    station.
    """
    visit = access.build_to_record(request, build_uuid)
    strake = strake_of(visit.build, strake_uuid)
    entry = entry_of(visit, strake, typed=request.POST)
    draft = request.POST.copy()
    again = draft.get("again", "")
    if again:
        name = next_take_name(entry.form(draft=draft), again)
        if name:
            draft[name] = ""
    return _page(request, entry, entry.form(draft=draft))


@require_safe
def saved(request, build_uuid, strake_uuid):
    visit = access.build_to_read(request, build_uuid)
    strake = strake_of(visit.build, strake_uuid)
    template = "widths/_saved.html" if request.htmx else "widths/saved.html"
    return _saved_page(request, visit, strake, template, sheet_of(visit.build, request.GET.get("sheet", "")))


def _saved_page(request, visit, strake, template, sheet):
    hull = standing_hull(visit)
    opening = next(one for one in hull.openings if one.pk == strake.opening_id)
    label, state = _label_and_state(hull, strake)
    at_stations = {at.station.pk: at for at in strake_at_stations(hull, opening, label)}
    shown = [row for row in all_readings(strake, known=hull.known) if row.reading.kind == "width"]
    counting = [{"shown": row, "at": at_stations.get(row.reading.station_id)} for row in shown if row.counts]
    review = hull.review(opening)
    offs = {row["shown"].reading.station.name: row["at"].off_nm for row in counting if row["at"]}
    context = {
        "visit": visit, "build": visit.build, "strake": strake, "label": label, "state": state, "sheet": sheet,
        "heading": heading_of(review), "opening": opening, "offered": bool(review and review.new_widths_offered),
        "trouble": hull.trouble(opening),
        "counting": counting, "others": [row for row in shown if not row.counts],
        "sentence": queries.widths_in_words({name: off for name, off in offs.items() if off is not None}),
        "notes": _notes(review, label), "takes_apart": queries.takes_apart(shown),
        "next": hull.next if hull.next and hull.next.strake.plan.strake_id != strake.pk else None,
        "choices": [one for one in strakes_to_choose(hull) if one.strake.plan.strake_id != strake.pk] if sheet else [],
    }  # fmt: skip
    return render(request, template, context)


def _label_and_state(hull, strake):
    """Return them as the plan in force has them, which the page has read; else as the log last knew them."""
    planned = next((one for one in hull.strakes.get(strake.opening_id, []) if one.plan.strake_id == strake.pk), None)
    if planned:
        return planned.label, planned.state
    return label_of_strake(strake), states_of_strakes([strake.pk]).get(strake.pk, OPEN)


def _notes(review, label):
    if review is None:
        return []
    return [(number, note) for number, note in enumerate(review.notes, 1) if label in note.strakes][:1]


record.room = redraw.room = saved.room = "bench"
