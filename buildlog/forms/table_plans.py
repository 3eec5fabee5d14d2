"""The dry run of a table of planned widths: what a draft would say otherwise than the plan in force."""

import re
from collections import defaultdict
from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from planking.lengths import from_nm

from .lengths import question_about
from .sheets import is_formula
from .table_cells import NOTE, ODD, DryRun, mm_words, opening_named, read_cell, ruler_for
from .tables import fold, station_named

_SUMS = {"sum of widths", "sum", "total", "seams", "left over"}
_RUNS = {"wale", "keel", "closing"}
_KINDS = {"full", "drop", "stealer"}
_SPAN = re.compile(r"\s*(-?\d{1,4})\s+to\s+(-?\d{1,4})\s*", re.ASCII)


@dataclass
class PlanLine:
    """One strake of the table: its widths by station as Lengths, and, for a new one, where it stands."""

    row: int
    opening: int
    label: str
    widths: dict = field(default_factory=dict)
    odd: dict = field(default_factory=dict)
    is_new: bool = False
    position: int = 0
    run: str = ""
    kind: str = "full"
    belt: str = ""
    spans: list = field(default_factory=list)


@dataclass
class PlanChange:
    """``lines`` by (opening, folded label); ``girths`` by (opening, station), in nm."""

    lines: dict = field(default_factory=dict)
    girths: dict = field(default_factory=dict)

    @property
    def count(self) -> int:
        return sum(len(line.widths) for line in self.lines.values()) + len(self.girths)


def dry_run_plan(sheet, known, matches) -> DryRun:
    """Return what a draft made of this table would change, without making it."""
    return _Plan(sheet, known, matches).read()


class _Plan:
    def __init__(self, sheet, known, matches):
        self.sheet, self.known, self.matches = sheet, known, matches
        self.run, self.ruler, self.change = DryRun(plan=PlanChange()), ruler_for(matches, known.build), PlanChange()
        columns = matches["columns"]
        self.at = {use: i for i, use in enumerate(columns) if use and ":" not in use}
        by_pk = {str(s.pk): s for s in known.stations.values()}
        self.wide = [(i, by_pk[use[8:]]) for i, use in enumerate(columns) if use[8:] in by_pk and ":" in use]
        self.seen: dict[tuple, int] = {}

    def read(self) -> DryRun:
        self.run.plan = self.change
        if "strake" not in self.at:
            self.run.doubt(0, "", "", _("No column is taken for the strake. Choose it below."))
            return self.run
        if not self.wide and not {"station", "figure"} <= set(self.at):
            self.run.doubt(0, "", "", _("No column is taken for a station. Choose it below."))
            return self.run
        if "opening" not in self.at and not self.matches.get("opening"):
            self.run.doubt(0, "", "", _("No side is named. Choose one below, where no side is named."))
            return self.run
        for number, cells in self.sheet.rows:
            if not self.run.spills(self.sheet, number, cells):
                self._row(number, cells)
        self._settle()
        return self.run

    def _cell(self, cells, use) -> str:
        at = self.at.get(use)
        return cells[at].strip() if at is not None and at < len(cells) else ""

    def _title(self, use) -> str:
        return self.sheet.head[self.at[use]] if use in self.at else ""

    def _row(self, number, cells):
        label = self._cell(cells, "strake")
        line = fold(self._cell(cells, "line") or label)
        if line in _SUMS:
            return
        opening = self._opening(number, cells)
        if opening is None:
            return
        if line == "girth":
            self._girths(number, cells, opening)
            return
        key = (opening, fold(label))
        if not label or len(label) > 12:
            why = _("a strake's label has twelve letters at most") if label else _("no strake is named")
            self.run.doubt(number, self._title("strake"), label, why)
            return
        if key not in self.change.lines and not self._begin(number, cells, opening, label, key):
            return
        for station, text, title in self._cells(number, cells):
            self._width(number, key, station, text, title)

    def _opening(self, number, cells):
        name = self._cell(cells, "opening")
        chosen = str(self.matches.get("opening") or "")
        found = opening_named(name, self.known) if name else int(chosen) if chosen.isdigit() else None
        if found not in self.known.opening_uuids:
            why = _("no such side or opening in this build") if name else _("no side is named; choose one below")
            self.run.doubt(number, self._title("opening"), name, why)
            return None
        return found

    def _begin(self, number, cells, opening, label, key) -> bool:
        line = PlanLine(number, opening, label, is_new=key not in self.known.plan_now)
        if line.is_new and not self._place(line, number, cells):
            return False
        self.change.lines[key] = line
        return True

    def _place(self, line, number, cells) -> bool:
        """A strake that the plan does not have yet needs its run and its place from the keel."""
        run, position = fold(self._cell(cells, "run")), self._cell(cells, "position")
        if run not in _RUNS or not re.fullmatch(r"[1-9]\d{0,3}", position, re.ASCII):
            why = _("no such strake in the plan in force; a new one needs its run (wale, keel, closing) and its place")
            self.run.doubt(number, self._title("strake"), line.label, why)
            return False
        kind = fold(self._cell(cells, "kind")) or "full"
        line.run, line.position, line.kind = run, int(position), kind if kind in _KINDS else "full"
        line.belt, line.spans = self._cell(cells, "belt")[:40], self._spans(number, cells)
        if self.known.has_plan:
            self.run.doubt(number, self._title("strake"), line.label, _("not in the plan in force"),
                           taken_for=_("a new strake"), weight=NOTE)  # fmt: skip
        return True

    def _spans(self, number, cells) -> list:
        text = self._cell(cells, "spans")
        found = [_SPAN.fullmatch(part) for part in text.split(";")] if text else []
        spans = [sorted([int(one[1]), int(one[2])]) for one in found if one]
        overlap = any(a[1] >= b[0] for a, b in zip(sorted(spans), sorted(spans)[1:], strict=False))
        if len(spans) < len(found) or overlap:
            why = _("spans overlap") if overlap else _("no span; write -17 to 18; 20 to 25")
            self.run.doubt(number, self._title("spans"), text, why, taken_for=_("from end to end"), weight=NOTE)
            return []
        return sorted(spans)

    def _cells(self, number, cells):
        if self.wide:
            for index, station in self.wide:
                yield station, cells[index].strip() if index < len(cells) else "", self.sheet.head[index]
            return
        name = self._cell(cells, "station")
        station = station_named(name, self.known) if name else None
        if station is None:
            why = _("no such station in this build") if name else _("no station is named")
            self.run.doubt(number, self._title("station"), name, why)
            return
        yield station, self._cell(cells, "figure"), self._title("figure")

    def _length(self, number, title, text):
        found = read_cell(text, self.ruler)
        if isinstance(found, str):
            self.run.doubt(number, title, text, found)
            return None
        return found

    def _width(self, number, key, station, text, title):
        now = self.known.plan_now.get(key, {}).get(station.pk)
        if not text or text in ("-", "–", "—"):
            if now is not None:
                why = _("no figure; the plan's stays")
                self.run.doubt(number, title, text, why, taken_for=mm_words(now), weight=NOTE)
            return
        length = self._length(number, title, text)
        if length is None:
            return
        if (key, station.pk) in self.seen:
            why = _("row %(n)d has this strake and station already") % {"n": self.seen[key, station.pk]}
            self.run.doubt(number, title, text, why)
            return
        self.seen[key, station.pk] = number
        if now == length.nm:
            self.run.there += 1
            return
        strake = self.known.strakes.get(key)
        if strake is not None and strake.is_locked and key in self.known.plan_now:
            self.run.doubt(number, title, text, _("this strake is cut or hangs; its planned width stays"),
                           taken_for=mm_words(now) if now else "–")  # fmt: skip
            return
        self._keep(number, key, station, text, title, length, now)

    def _keep(self, number, key, station, text, title, length, now):
        line = self.change.lines[key]
        asked = self._asked(length, now) if now else ""
        if not asked and now is None and not line.is_new:
            asked = _("the plan has no width of this strake here")
        if asked:
            self.run.doubt(number, title, text, asked, taken_for=mm_words(length.nm), weight=ODD)
            line.odd[station.pk] = length
            return
        line.widths[station.pk] = length

    def _asked(self, length, now) -> str:
        asked = question_about("", length, from_nm(now), ruler=self.ruler, expected_words=_("the plan"))
        return asked.sentence if asked else ""

    def _girths(self, number, cells, opening):
        for station, text, title in self._cells(number, cells):
            if not text or is_formula(text):
                continue
            length = self._length(number, title, text)
            if length is not None and length.nm != self.known.girths.get((opening, station.pk)):
                self.change.girths[opening, station.pk] = length.nm

    # --- the table as a whole ------------------------------------------------------------------------------

    def _settle(self):
        if self.matches.get("odd") == "take":
            for line in self.change.lines.values():
                line.widths |= line.odd
        self._one_closing_strake()
        new = [key for key, line in self.change.lines.items() if line.is_new and not line.widths]
        for key in new:
            self.run.doubt(self.change.lines[key].row, self._title("strake"), self.change.lines[key].label,
                           _("a new strake without a width; left out"))  # fmt: skip
        keep = {k: line for k, line in self.change.lines.items() if line.widths}
        self.change.lines = keep
        self._closes()

    def _one_closing_strake(self):
        closing = defaultdict(list)
        for key, line in self.change.lines.items():
            if line.is_new and line.run == "closing":
                closing[line.opening].append(key)
        for opening, keys in closing.items():
            has_one = any(key[0] == opening for key in self.known.plan_now)
            for key in keys if has_one else keys[1:]:
                line = self.change.lines.pop(key)
                self.run.doubt(line.row, self._title("run"), line.label, _("an opening has one closing strake"))

    def _closes(self):
        """Say where the widths would no longer come to the girth. Seams stay as they are planned."""
        if not self.known.has_plan or any(line.is_new for line in self.change.lines.values()):
            return
        more: dict[tuple, int] = defaultdict(int)
        for key, line in self.change.lines.items():
            for station, length in line.widths.items():
                more[line.opening, station] += length.nm - self.known.plan_now[key].get(station, 0)
        for place, nm in self.change.girths.items():
            more[place] -= nm - self.known.girths.get(place, nm)
        names = {s.pk: s.name for s in self.known.stations.values()}
        for (_opening, station), nm in more.items():
            if nm:
                way = _("more") if nm > 0 else _("less")
                why = _("the widths here come to %(mm)s %(way)s than in the plan in force") % {
                    "mm": mm_words(abs(nm)), "way": way,
                }  # fmt: skip
                self.run.doubt(0, names[station], "", why, weight=NOTE)


