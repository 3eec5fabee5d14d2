"""A draft as a table to be typed in: cells, rows under their belts, and each station's sum."""

from dataclasses import dataclass, field
from functools import cached_property

from django.utils.translation import gettext as _

from buildlog.measuring.plan_openings import warnings_of
from buildlog.queries.plan_widths import StationSum, locked_because, reaches


@dataclass(frozen=True)
class EditCell:
    """One strake at one station. ``text`` is in the field, ``shown`` what stands in the draft."""

    station: object
    width_nm: int | None
    shown: str
    text: str
    reaches: bool
    problem: str = ""
    theirs: bool = False
    # How much thinner or thicker than the strake on its wale side; only where thickness is what is shown.
    step_nm: int | None = None
    # Its station as a name in the page. A number would be written as people of a language write it, each time anew.
    key: str = ""


@dataclass(frozen=True)
class EditRow:
    label: str
    strake: object
    plan: object
    locked: str
    state: str
    cells: list

    @cached_property
    def key(self) -> str:
        return str(self.strake.pk)

    def cell_at(self, station_pk) -> EditCell | None:
        return next((cell for cell in self.cells if cell.station.pk == station_pk), None)


@dataclass(frozen=True)
class EditGroup:
    belt: object
    words: str
    rows: list

    @property
    def name(self) -> str:
        return self.belt.name if self.belt else ""


@dataclass(frozen=True)
class EditTable:
    """Stations aft to forward, bow at the right as the pictures lie; rows wale side first."""

    stations: list
    groups: list
    sums: list[StationSum]
    warnings: list = field(default_factory=list)

    @property
    def rows(self) -> list[EditRow]:
        return [row for group in self.groups for row in group.rows]

    @property
    def problems(self) -> list:
        """The cells that did not go in, each with its row: told over the table, so that no column is torn apart."""
        return [(row, cell) for row in self.rows for cell in row.cells if cell.problem]

    @property
    def closes(self) -> bool:
        return all(not one.left_nm for one in self.sums)

    def cell(self, strake_uuid, station_pk):
        """Return a row and its cell, or None where the strake is not in the draft."""
        row = next((row for row in self.rows if row.strake.uuid == strake_uuid), None)
        cell = row.cell_at(station_pk) if row else None
        return (row, cell) if cell else None

    def keel_side(self, row, station_pk):
        """Return the row on the keel side of one with its cell: its step changes when this one does."""
        rows = self.rows
        index = rows.index(row) + 1
        return (rows[index], rows[index].cell_at(station_pk)) if index < len(rows) else None

    def sum_at(self, station_pk) -> StationSum | None:
        return next((one for one in self.sums if one.station.pk == station_pk), None)


def edit_table(draft, show, typed, what="width") -> EditTable:
    """Return the table of a draft. ``show`` writes a PlanWidth; ``typed`` holds what did not go in, by
    (strake uuid, station pk); ``what`` is width or thickness.
    """
    stations = draft.stations[::-1]
    groups: list[EditGroup] = []
    wale_side = None
    for strake in reversed(draft.strakes):
        belt = strake.plan.belt
        if not groups or groups[-1].belt != belt:
            groups.append(EditGroup(belt, _belt_words(belt), []))
        groups[-1].rows.append(_row(strake, stations, show, typed, what, wale_side))
        wale_side = strake
    return EditTable(stations, groups, [draft.sum_at(s) for s in stations], warnings_of(draft))


def _belt_words(belt) -> str:
    if belt is None:
        return ""
    return _("held at its line") if belt.at_line == "hold" else _("carried over its line")


def _row(strake, stations, show, typed, what, wale_side) -> EditRow:
    cells = []
    for station in stations:
        width = strake.widths.get(station.pk)
        told = typed.get((strake.plan.strake.uuid, station.pk), {})
        shown = show(width)
        cells.append(EditCell(
            station, getattr(width, f"{what}_nm", None), shown, told.get("text", shown),
            width is not None or reaches(strake.plan, station), told.get("problem", ""), told.get("theirs", False),
            _step(strake, wale_side, station) if what == "thickness" else None, str(station.pk),
        ))  # fmt: skip
    return EditRow(
        strake.label, strake.plan.strake, strake.plan, locked_because(strake), _state(strake), cells
    )


def _step(strake, wale_side, station) -> int | None:
    here = getattr(strake.widths.get(station.pk), "thickness_nm", None)
    beside = getattr(wale_side.widths.get(station.pk), "thickness_nm", None) if wale_side else None
    return None if here is None or beside is None or here == beside else here - beside


def _state(strake) -> str:
    state = {"hung": _("hung"), "cutting": _("being cut"), "cut": _("cut"), "dry_fitted": _("dry-fitted")}.get(
        strake.state.state, ""
    )
    run = {"wale": _("from the wale"), "keel": _("from the keel"), "closing": _("closing")}[strake.plan.run]
    kind = {"drop": _("drop"), "stealer": _("stealer")}.get(strake.plan.kind, "")
    return ", ".join(word for word in (state or run, kind) if word)
