"""The plan as a table: widths by strake and station, what hangs off them, the sum that closes to zero."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from buildlog.models import Opening, PlanBelt, PlanOpening, PlanWidth

from .plank_maps import deviations
from .strips import state_drawn

# A change that does not show in the second decimal is no change to a builder.
SHOWN_NM = 5_000


@dataclass(frozen=True)
class WidthCell:
    """One strake at one station; ``width_nm`` is None where it does not reach, or has no width yet."""

    station: object
    reaches: bool
    width_nm: int | None
    off_nm: int | None
    was_nm: int | None


@dataclass(frozen=True)
class WidthRow:
    label: str
    strake: object
    state: str
    words: str
    is_next: bool
    is_closing: bool
    cells: list


@dataclass(frozen=True)
class Group:
    """A belt, or the strakes of one run that stand alike where the plan names no belts."""

    name: str
    words: str
    rows: list

    @property
    def folded(self) -> str:
        """The labels of strakes that hang and have no figure at all, told in one line; empty for others."""
        if any(cell.width_nm is not None for row in self.rows for cell in row.cells):
            return ""
        if any(row.state != "before_log" for row in self.rows):
            return ""
        first, last = self.rows[0].label, self.rows[-1].label
        return first if first == last else _("%(first)s to %(last)s") % {"first": first, "last": last}


@dataclass(frozen=True)
class SumCell:
    """The foot of one station: widths and seams against the girth they close on, in whole nm."""

    station: object
    girth_nm: int | None
    widths_nm: int
    seams: int
    seams_nm: int

    @property
    def left_over_nm(self) -> int | None:
        return None if self.girth_nm is None else self.girth_nm - self.widths_nm - self.seams_nm


@dataclass(frozen=True)
class PlanTable:
    """One opening of a revision; stations aft to forward, bow at the right, as the pictures lie."""

    opening: Opening
    plan: PlanOpening | None
    stations: list
    groups: list
    sums: list
    changed: bool

    @property
    def closes(self) -> bool:
        return all(not one.left_over_nm for one in self.sums if one.girth_nm is not None)

    @property
    def is_partial(self) -> bool:
        """Strakes without widths: the sum closes on the gap that was left, not on the whole girth."""
        return any(row.state == "before_log" for group in self.groups for row in group.rows)

    @property
    def limits(self) -> dict:
        """Each limit in percent of the planned width, and in nm of the full width where one is planned."""
        plan = self.plan or PlanOpening()
        full_nm = self.full_nm
        permille = {"step": plan.step_permille, "closing": plan.closing_permille,
                    "narrow": plan.narrow_permille, "wide": plan.wide_permille}  # fmt: skip
        return {
            name: {"percent": share / 10, "nm": full_nm * share // 1000 if full_nm else None}
            for name, share in permille.items()
        }

    @property
    def full_nm(self) -> int | None:
        """The full width: the widest open strake at dead flat, else the widest of all."""
        open_cells = [c for g in self.groups for r in g.rows if r.state in ("open", "next") for c in r.cells]
        flat = [c.width_nm for c in open_cells if c.width_nm and c.station.is_dead_flat]
        return max(flat or [c.width_nm for c in open_cells if c.width_nm], default=None)


def plan_table(hull, opening, before=None) -> PlanTable:
    """Return the table of one opening; ``before`` is the revision to compare with, for the *was* figures."""
    strakes = hull.strakes.get(opening.pk, [])
    used = {pk for s in strakes for pk in s.widths}
    stations = [s for s in reversed(hull.stations) if not used or s.pk in used]
    plan = PlanOpening.objects.filter(revision=hull.revision, opening=opening).first()
    was = widths_before(before, opening) if before else {}
    off = deviations(hull.review(opening)) if strakes else {}
    groups = _groups(hull, list(reversed(strakes)), stations, off, was)
    changed = any(c.was_nm is not None for g in groups for r in g.rows for c in r.cells)
    return PlanTable(opening, plan, stations, groups, _sums(plan, opening, strakes, stations), changed)


def widths_before(revision, opening) -> dict[tuple[int, int], int]:
    """Return the widths of an earlier revision by (strake pk, station pk)."""
    rows = PlanWidth.objects.filter(plan_strake__revision=revision, plan_strake__opening=opening)
    return {
        (strake, station): nm
        for strake, station, nm in rows.values_list("plan_strake__strake_id", "station_id", "width_nm")
    }


def _groups(hull, strakes, stations, off, was) -> list[Group]:
    groups: list[Group] = []
    last_key = None
    for strake in strakes:
        key = _key(strake)
        if key != last_key:
            groups.append(Group(_name(strake), "", []))
            last_key = key
        groups[-1].rows.append(_row(hull, strake, stations, off, was))
    return [_with_words(group, strakes) for group in groups]


def _key(strake):
    if strake.plan.belt_id:
        return strake.plan.belt_id
    return (strake.is_hung and strake.plan.run, strake.state.measured if strake.is_hung else "")


def _name(strake) -> str:
    if strake.plan.belt:
        return strake.plan.belt.name
    if not strake.is_hung:
        return _("To hang")
    return {"wale": _("Hung from the wale"), "keel": _("Hung from the keel"), "closing": _("Closing strake")}[
        strake.plan.run
    ]


def _with_words(group, strakes) -> Group:
    """Say under a group's name which run it belongs to, what its batten line does, and how far it is."""
    labels = {row.label for row in group.rows}
    here = [s for s in strakes if s.label in labels]
    runs = {s.plan.run for s in here}
    words = []
    if here[0].plan.belt or not here[0].is_hung:
        words.append(_runs_in_words(runs))
    if here[0].plan.belt and here[0].plan.belt.at_line == PlanBelt.AtLine.HOLD:
        words.append(_("held at its line"))
    if all(s.is_hung for s in here):
        before = all(s.state.measured == "before_log" for s in here)
        words.append(_("hung before this log") if before else _("hung, locked"))
    return Group(group.name, " · ".join(word for word in words if word), group.rows)


def _runs_in_words(runs) -> str:
    if {"wale", "keel"} <= runs:
        return _("both runs meet here")
    if "wale" in runs:
        return _("from the wale")
    if "keel" in runs:
        return _("from the keel")
    return _("the last one in")


def _row(hull, strake, stations, off, was) -> WidthRow:
    state = state_drawn(hull, strake)
    return WidthRow(
        label=strake.label,
        strake=strake.plan.strake,
        state=state,
        words=_state_words(strake, state),
        is_next=state == "next",
        is_closing=strake.plan.run == "closing",
        cells=[_cell(strake, station, off, was) for station in stations],
    )


def _state_words(strake, state) -> str:
    words = {
        "hung": _("hung"), "before_log": _("hung"), "next": _("next"), "open": _("open"),
    }[state]  # fmt: skip
    if state == "open" and strake.state.state in ("cutting", "cut", "dry_fitted"):
        words = {"cutting": _("being cut"), "cut": _("cut"), "dry_fitted": _("dry-fitted")}[
            strake.state.state
        ]
    if strake.plan.run == "closing" and not strake.is_hung:
        words = _("next, closing") if state == "next" else _("closing")
    kind = {"drop": _("drop"), "stealer": _("stealer")}.get(strake.plan.kind)
    return f"{words}, {kind}" if kind else words


def _cell(strake, station, off, was) -> WidthCell:
    width = strake.widths.get(station.pk)
    width_nm = width.width_nm if width else None
    off_mm = off.get(strake.label, {}).get(station.name)
    before = was.get((strake.plan.strake_id, station.pk))
    differs = before is not None and width_nm is not None and abs(before - width_nm) >= SHOWN_NM
    return WidthCell(
        station=station,
        reaches=_reaches(strake, station),
        width_nm=width_nm,
        off_nm=round(off_mm * 1_000_000) if strake.is_hung and off_mm is not None else None,
        was_nm=before if differs and not strake.is_hung else None,
    )


def _reaches(strake, station) -> bool:
    spans = strake.plan.spans
    if not spans or station.frame is None:
        return True
    return any(first <= station.frame.number <= last for first, last in spans)


def _sums(plan, opening, strakes, stations) -> list[SumCell]:
    girths = {g.station_id: g.girth_nm for g in plan.girths.all()} if plan else {}
    seam_nm = plan.planned_seam_nm if plan else 0
    ends = (opening.keel_edge == Opening.Edge.FIXED) + (opening.wale_edge == Opening.Edge.FIXED)
    found = []
    for station in stations:
        here = [s.widths[station.pk].width_nm for s in strakes if station.pk in s.widths]
        # A strake hung before this log has no planned width, but its seam is in the opening with it.
        behind = sum(s.state.measured == "before_log" and not s.widths for s in strakes)
        seams = max(0, len(here) + behind - 1 + ends) if here else 0
        found.append(SumCell(station, girths.get(station.pk), sum(here), seams, seams * seam_nm))
    return found
