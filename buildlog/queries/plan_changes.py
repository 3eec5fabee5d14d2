"""What differs between two revisions of the plan, strake by strake and station by station."""

from dataclasses import dataclass, field

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from buildlog.models import PlanBelt, PlanOpening, PlanStrake, PlanWidth, Station

from .cut_cards import place_of_frame

RUNS = {
    "wale": gettext_lazy("from the wale"), "keel": gettext_lazy("from the keel"),
    "closing": gettext_lazy("the closing strake"),
}  # fmt: skip
LIMITS = {
    "step_permille": gettext_lazy("step limit"), "closing_permille": gettext_lazy("closing limit"),
    "narrow_permille": gettext_lazy("narrowest"), "wide_permille": gettext_lazy("widest"),
}  # fmt: skip
AT_LINE = {"carry": gettext_lazy("carried over its line"), "hold": gettext_lazy("held at its line")}


@dataclass(frozen=True)
class CellChange:
    """One strake at one station. ``old_nm`` and ``new_nm`` are None where it has no figure there."""

    station: object
    what: str
    old_nm: int | None
    new_nm: int | None


@dataclass
class StrakeChange:
    """One strake; ``words`` say what differs besides figures, in pairs of old and new."""

    opening: object
    label: str
    strake_id: int
    act: str = "changed"
    words: list[str] = field(default_factory=list)
    cells: list[CellChange] = field(default_factory=list)

    @property
    def widths(self) -> list[CellChange]:
        return [cell for cell in self.cells if cell.what == "width"]

    @property
    def thicknesses(self) -> list[CellChange]:
        return [cell for cell in self.cells if cell.what == "thickness"]


@dataclass
class OpeningChange:
    """What differs in one opening: its strakes, keel side first, and its own limits, seam and girths."""

    opening: object
    strakes: list[StrakeChange] = field(default_factory=list)
    words: list[str] = field(default_factory=list)
    girths: list[CellChange] = field(default_factory=list)

    @property
    def stations(self) -> list:
        """The stations at which some width differs, forward to aft."""
        found = {cell.station.pk: cell.station for strake in self.strakes for cell in strake.widths}
        return sorted(found.values(), key=lambda station: station.position)

    @property
    def is_any(self) -> bool:
        return bool(self.strakes or self.words or self.girths)


def changes_between(before, after) -> list[OpeningChange]:
    """Return what ``after`` says otherwise than ``before``, opening by opening, in a fixed number of queries."""
    old, new = _strakes(before), _strakes(after)
    figures = _figures(before), _figures(after)
    stations = {station.pk: station for station in Station.objects.filter(build=after.build_id).select_related("frame")}
    openings = {plan.opening_id: plan.opening for plan in (*old.values(), *new.values())}
    plans = _plan_openings(before), _plan_openings(after)
    openings |= {plan.opening_id: plan.opening for plan in (*plans[0].values(), *plans[1].values())}
    belts = _belts(before), _belts(after)
    found = []
    for pk, opening in sorted(openings.items(), key=lambda one: (one[1].layer, one[1].side, one[0])):
        change = OpeningChange(opening, _strakes_changed(opening, old, new, figures, stations))
        _opening_changed(change, plans[0].get(pk), plans[1].get(pk))
        change.words += _belts_changed(belts[0].get(pk, {}), belts[1].get(pk, {}))
        if change.is_any:
            found.append(change)
    return found


def _strakes(revision) -> dict[int, PlanStrake]:
    plans = PlanStrake.objects.filter(revision=revision).select_related("belt", "opening", "strake")
    plans = plans.prefetch_related("planks__from_frame", "planks__to_frame")
    return {plan.strake_id: plan for plan in plans.order_by("position")}


def _figures(revision) -> dict[int, dict[tuple[int, str], int]]:
    """Return widths and thicknesses by strake, then by station and which of the two: plain rows, of thousands."""
    rows = PlanWidth.objects.filter(plan_strake__revision=revision)
    found: dict[int, dict] = {}
    for strake, at, width, thickness in rows.values_list(
        "plan_strake__strake", "station", "width_nm", "thickness_nm"
    ):
        here = found.setdefault(strake, {})
        here[at, "width"] = width
        if thickness is not None:
            here[at, "thickness"] = thickness
    return found


def _plan_openings(revision) -> dict[int, PlanOpening]:
    plans = PlanOpening.objects.filter(revision=revision).select_related("opening")
    return {plan.opening_id: plan for plan in plans.prefetch_related("girths__station")}


def _belts(revision) -> dict[int, dict[str, str]]:
    """What happens at the line of each belt, by opening and name. A belt is known by its name in every revision."""
    found: dict[int, dict[str, str]] = {}
    for belt in PlanBelt.objects.filter(revision=revision).order_by("position"):
        found.setdefault(belt.opening_id, {})[belt.name] = belt.at_line
    return found


def _belts_changed(old, new) -> list[str]:
    """Return the belts whose line is taken otherwise; which strakes a belt holds stands with the strakes."""
    usual = PlanBelt.AtLine.CARRY
    return [
        _("belt %(name)s") % {"name": name} + f" {AT_LINE[old.get(name, usual)]} → {AT_LINE[line]}"
        for name, line in new.items()
        if line != old.get(name, usual)
    ]


def _strakes_changed(opening, old, new, figures, stations) -> list[StrakeChange]:
    here = {pk: new.get(pk) or old[pk] for pk in (*old, *new)}
    rows = [(pk, plan) for pk, plan in here.items() if plan.opening_id == opening.pk]
    found = []
    for pk, _plan in sorted(rows, key=lambda row: (row[1].position, row[0])):
        change = _strake_changed(opening, pk, old.get(pk), new.get(pk), stations)
        change.cells = _cells_changed(change, *(one.get(pk, {}) for one in figures), stations)
        if change.act != "changed" or change.words or change.cells:
            found.append(change)
    return found


def _strake_changed(opening, pk, old, new, stations) -> StrakeChange:
    plan = new or old
    act = "changed" if old and new else "added" if new else "left out"
    return StrakeChange(opening, plan.label, pk, act, _in_words(old, new, stations) if old and new else [])


def _cells_changed(change, was, now, stations) -> list[CellChange]:
    """Return the figures that differ, widths first, forward to aft."""
    if change.act != "changed":
        # What is new or left out has its whole row of widths; its thickness would only say so again.
        was, now = ({key: nm for key, nm in one.items() if key[1] == "width"} for one in (was, now))
    differ = [key for key in {*was, *now} if was.get(key) != now.get(key)]
    differ.sort(key=lambda key: (key[1] != "width", stations[key[0]].position))
    return [CellChange(stations[at], what, was.get((at, what)), now.get((at, what))) for at, what in differ]


def _in_words(old, new, stations) -> list[str]:
    """Return what differs besides figures, as *label 7 → 7a*."""
    pairs = [
        (_("label"), old.label, new.label),
        (_("run"), str(RUNS[old.run]), str(RUNS[new.run])),
        (_("kind"), old.get_kind_display().lower(), new.get_kind_display().lower()),
        (_("belt"), old.belt.name if old.belt else "–", new.belt.name if new.belt else "–"),
        (_("frames"), _spans(old), _spans(new)),
        (_("butts"), _butts(old, stations), _butts(new, stations)),
        (_("joins"), old.joins or "–", new.joins or "–"),
    ]
    return [f"{what} {was} → {now}" for what, was, now in pairs if was != now]


def _spans(plan) -> str:
    return ", ".join(_("%(first)s to %(last)s") % {"first": a, "last": b} for a, b in plan.spans) or _("end to end")


def _butts(plan, stations) -> str:
    planks = sorted(plan.planks.all(), key=lambda plank: plank.order)
    framed = [station for station in stations.values() if station.frame]
    return ", ".join(place_of_frame(plank.to_frame, framed) for plank in planks[:-1]) or _("none")


def _opening_changed(change, old, new):
    if old and new:
        for name, words in LIMITS.items():
            was, now = getattr(old, name), getattr(new, name)
            if was != now:
                change.words.append(f"{words} {was / 10:g} % → {now / 10:g} %")
        if old.planned_seam_nm != new.planned_seam_nm:
            seams = old.planned_seam_nm / 1e6, new.planned_seam_nm / 1e6
            change.words.append(_("planned seam") + f" {seams[0]:.3f} → {seams[1]:.3f}")
    was = {girth.station: girth.girth_nm for girth in old.girths.all()} if old else {}
    now = {girth.station: girth.girth_nm for girth in new.girths.all()} if new else {}
    for station in sorted({*was, *now}, key=lambda station: station.position):
        if was.get(station) != now.get(station):
            change.girths.append(CellChange(station, "girth", was.get(station), now.get(station)))
