"""The dry run of a table of readings: each cell becomes a reading to take in, or a doubt that says why it is none.

Nothing is written. A cell is left out where it cannot be read or placed; it is *odd* where it can, and is far from
what was expected; it is *there* where the log has it.
"""

import json
import uuid
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from itertools import count

from django.utils.translation import gettext as _

from planking.lengths import from_nm

from .lengths import question_about
from .table_cells import NOTE, ODD, THERE, Doubt, DryRun, mm_words, opening_named, read_cell, read_when, ruler_for
from .tables import fold, station_named

NEVER_ASKED_PERCENT = 4
# One transaction holds up others for as long as it takes; so many readings take it some seconds.
MOST_READINGS = 20_000
_OUT_STATES = {"replaced", "withdrawn", "taken out"}
_METHODS = {
    "jaws": "jaws", "caliper": "jaws", "micrometer": "jaws", "dividers": "dividers", "paper_strip": "paper_strip",
    "paper strip": "paper_strip", "strip": "paper_strip", "tape": "tape", "photo": "photo",
}  # fmt: skip
_STAGES = {"": "", "cut": "cut", "hung": "hung", "sanded": "sanded"}
_WOODS = {"": "dry", "dry": "dry", "damp": "damp", "wet": "damp"}
_USUAL_METHOD = {"widths": "jaws", "gaps": "paper_strip", "girths": "paper_strip"}


@dataclass(frozen=True)
class TableReading:
    """One reading to be taken in; ``client_uuid`` is made of the build and what the row says."""

    client_uuid: uuid.UUID
    opening: int
    strake: int | None
    station: int
    nm: int
    typed: str
    unit: str
    size: str
    happened_at: datetime
    person: int
    instrument: int | None
    method: str
    damp: str
    stage: str
    remark: str = ""


def dry_run(sheet, known, matches, *, now) -> DryRun:
    """Return what a table of readings would bring, without bringing it."""
    return _Readings(sheet, known, matches, now).read()


class _Readings:
    """One reading of a table; lives as long as one dry run."""

    def __init__(self, sheet, known, matches, now):
        self.sheet, self.known, self.matches, self.now = sheet, known, matches, now
        self.kind, self.run, self.ruler = matches["kind"], DryRun(), ruler_for(matches, known.build)
        columns = matches["columns"]
        self.at = {use: i for i, use in enumerate(columns) if use and ":" not in use}
        by_pk = {str(s.pk): s for s in known.stations.values()}
        self.wide = [(i, by_pk[use[8:]]) for i, use in enumerate(columns) if use[8:] in by_pk and ":" in use]
        self.in_file: dict[uuid.UUID, int] = {}
        self.lengths: dict[str, object] = {}

    def read(self) -> DryRun:
        missing = self._missing()
        if missing:
            self.run.doubt(0, "", "", missing)
            return self.run
        for number, cells in self.sheet.rows:
            if not self.run.spills(self.sheet, number, cells):
                self._row(number, cells)
            if len(self.run.readings) + len(self.run.odd) > MOST_READINGS:
                return DryRun(doubts=[Doubt(0, "", "", "", _("more than 20,000 figures; send the table in parts"))])
        return self.run

    def _missing(self) -> str:
        if self.kind == "widths" and "strake" not in self.at:
            return _("No column is taken for the strake. Choose it below.")
        if not self.wide and "station" not in self.at:
            return _("No column is taken for a station. Choose it below.")
        if not self.wide and "figure" not in self.at:
            return _("No column is taken for the figure. Choose it below.")
        if "opening" not in self.at and not self.matches.get("opening"):
            return _("No side is named. Choose one below, where no side is named.")
        return ""

    def _cell(self, cells, use) -> str:
        at = self.at.get(use)
        return cells[at].strip() if at is not None and at < len(cells) else ""

    def _title(self, use) -> str:
        return self.sheet.head[self.at[use]] if use in self.at else ""

    def _row(self, number, cells):
        if fold(self._cell(cells, "state")) in _OUT_STATES:
            self.run.doubt(number, self._title("state"), self._cell(cells, "state"), _("does not count; left out"))
            return
        row = self._common(number, cells)
        if row is None:
            return
        if self.wide:
            for index, station in self.wide:
                self._figure(number, row, station, cells[index].strip() if index < len(cells) else "",
                             self.sheet.head[index])  # fmt: skip
            return
        name = self._cell(cells, "station")
        station = station_named(name, self.known) if name else None
        if station is None:
            why = _("no such station in this build") if name else _("no station is named")
            self.run.doubt(number, self._title("station"), name, why)
            return
        self._figure(number, row, station, self._cell(cells, "figure"), self._title("figure"))

    # --- what a whole row says -----------------------------------------------------------------------------

    def _common(self, number, cells) -> dict | None:
        opening = self._opening(number, cells)
        if opening is None:
            return None
        strake = self._strake(number, cells, opening) if self.kind == "widths" else None
        if self.kind == "widths" and strake is None:
            return None
        when = self._when(number, cells)
        if when is None:
            return None
        happened_at, dated = when
        return {
            "opening": opening, "strake": strake, "happened_at": happened_at, "dated": dated,
            "person": self._person(number, cells), "instrument": self._instrument(number, cells),
            "method": self._word(number, cells, "method", _METHODS, _USUAL_METHOD[self.kind]),
            "stage": self._word(number, cells, "stage", _STAGES, self._usual_stage),
            "damp": self._word(number, cells, "wood", _WOODS, "dry"),
            "remark": self._cell(cells, "remark")[:200], "identity": self._identity(cells),
        }  # fmt: skip

    @property
    def _usual_stage(self) -> str:
        if self.kind != "widths":
            return ""
        return "hung" if self.matches.get("standing") in ("hung", "before_log") else "cut"

    def _opening(self, number, cells) -> int | None:
        name = self._cell(cells, "opening")
        if not name:
            chosen = str(self.matches.get("opening") or "")
            if chosen.isdigit() and int(chosen) in self.known.opening_uuids:
                return int(chosen)
            self.run.doubt(number, self._title("opening"), "", _("no side is named; choose one below"))
            return None
        found = opening_named(name, self.known)
        if found is None:
            self.run.doubt(number, self._title("opening"), name, _("no such side or opening in this build"))
        return found

    def _strake(self, number, cells, opening):
        label = self._cell(cells, "strake")
        found = self.known.strakes.get((opening, fold(label)))
        if found is None:
            why = _("no such strake in the plan") if label else _("no strake is named")
            self.run.doubt(number, self._title("strake"), label, why)
        return found

    def _when(self, number, cells):
        text = self._cell(cells, "when")
        if not text:
            day = self.matches.get("happened_on")
            if not day:
                self.run.doubt(number, self._title("when"), "", _("no date is named; say one below"))
                return None
            return self._noon(date.fromisoformat(day)), False
        try:
            moment = read_when(text, order=self.matches.get("dates", "dmy"), zone=self.known.zone)
        except ValueError:
            self.run.doubt(number, self._title("when"), text, _("no date; write it as 2026-03-14"))
            return None
        if moment > self.now + timedelta(days=1):
            self.run.doubt(number, self._title("when"), text, _("lies ahead"))
            return None
        return min(moment, self.now), True

    def _noon(self, day):
        return min(datetime.combine(day, time(12), tzinfo=self.known.zone).astimezone(UTC), self.now)

    def _person(self, number, cells) -> int:
        name = self._cell(cells, "person")
        found = self.known.people.get(fold(name)) if name else None
        people = {p.pk: p for p in self.known.people.values()}
        chosen = str(self.matches.get("person") or "")
        usual = int(chosen) if chosen.isdigit() and int(chosen) in people else self.matches["importer"]
        if name and found is None:
            self.run.doubt(number, self._title("person"), name, _("nobody of this name in this build"),
                           taken_for=people[usual].display_name, weight=NOTE)  # fmt: skip
        return found.pk if found else usual

    def _instrument(self, number, cells) -> int | None:
        name = self._cell(cells, "instrument")
        found = self.known.instruments.get(fold(name)) if name else None
        if name and found is None:
            self.run.doubt(number, self._title("instrument"), name, _("no such instrument; its zero is not known"),
                           taken_for=_("not said"), weight=NOTE)  # fmt: skip
        if found:
            return found.pk
        chosen = str(self.matches.get("instrument") or "")
        known = {i.pk for i in self.known.instruments.values()}
        return int(chosen) if not name and chosen.isdigit() and int(chosen) in known else None

    def _word(self, number, cells, use, words, usual) -> str:
        text = fold(self._cell(cells, use))
        if not text:
            return usual
        if text not in words:
            self.run.doubt(number, self._title(use), text, _("not known"), taken_for=usual or "–", weight=NOTE)
        return words.get(text, usual)

    def _identity(self, cells):
        text = self._cell(cells, "reading")
        try:
            return uuid.UUID(text) if text else None
        except ValueError:
            return None

    # --- one figure ----------------------------------------------------------------------------------------

    def _figure(self, number, row, station, text, title):
        if not text or text in ("-", "–", "—"):
            if not self.wide:
                self.run.doubt(number, title, text, _("no figure"))
            elif self._is_expected(row, station):
                self.run.doubt(number, title, text, _("no figure; the plan has one here"), weight=NOTE)
            return
        length = self._length(number, title, text)
        if length is None:
            return
        known = self._known(number, row, station, text, title, length)
        if known is None:
            return
        reading = TableReading(
            known, row["opening"], row["strake"].pk if row["strake"] else None, station.pk, length.nm, text[:40],
            length.unit[:8], length.size, row["happened_at"], row["person"], row["instrument"], row["method"],
            row["damp"], row["stage"], row["remark"],
        )  # fmt: skip
        why = self._why_odd(row, station, length)
        if why:
            self.run.doubt(number, title, text, why, taken_for=mm_words(length.nm), weight=ODD)
            self.run.odd.append(reading)
        else:
            self.run.readings.append(reading)

    def _is_expected(self, row, station) -> bool:
        return row["strake"] is not None and (row["strake"].pk, station.pk) in self.known.planned

    def _length(self, number, title, text):
        """A figure that stands in many cells is read once."""
        if text not in self.lengths:
            self.lengths[text] = read_cell(text, self.ruler)
        found = self.lengths[text]
        if isinstance(found, str):
            self.run.doubt(number, title, text, found)
            return None
        return found

    def _known(self, number, row, station, text, title, length) -> uuid.UUID | None:
        """Return the name this reading is sent by, or None where the log or the file has it already."""
        identity = row["identity"]
        if identity in self.known.readings:
            nm = self.known.readings[identity]
            why = _("the log has this reading")
            if nm != length.nm:
                why = _("the log has this reading as %(mm)s; mend it on its own page") % {"mm": mm_words(nm)}
            self.run.doubt(number, title, text, why, weight=THERE)
            return None
        names = (uuid.uuid5(self.known.build.uuid, self._content(row, station, length, n)) for n in count())
        name = next(one for one in names if not self.known.sent.get(one))
        if name in self.known.sent or (identity is None and self._stands(row, station, length)):
            self.run.doubt(number, title, text, _("the log has the same figure here"), weight=THERE)
            return None
        if name in self.in_file:
            why = _("says the same as row %(n)d") % {"n": self.in_file[name]}
            self.run.doubt(number, title, text, why, weight=THERE)
            return None
        self.in_file[name] = number
        return name

    def _content(self, row, station, length, generation) -> str:
        """What makes two rows the same reading. A date that only the page gave is none of the file's."""
        strake, identity = row["strake"], row["identity"]
        return json.dumps([
            self.kind, str(self.known.opening_uuids[row["opening"]].uuid), str(strake.uuid) if strake else "",
            str(station.uuid), length.nm, row["happened_at"].astimezone(UTC).isoformat() if row["dated"] else "",
            row["damp"], row["stage"], str(identity or ""), generation,
        ])  # fmt: skip

    def _stands(self, row, station, length) -> bool:
        place = (row["opening"], row["strake"].pk if row["strake"] else None, station.pk)
        day = row["happened_at"].astimezone(self.known.zone).date()
        return any(
            nm == length.nm and (not row["dated"] or at.astimezone(self.known.zone).date() == day)
            for nm, at in self.known.standing.get(place, ())
        )

    def _why_odd(self, row, station, length) -> str:
        if row["strake"] is not None:
            return self._why_far(row["strake"], station, length)
        girth = self.known.girths.get((row["opening"], station.pk))
        if girth is None:
            return ""
        if self.kind == "gaps" and length.nm * 100 > girth * (100 + NEVER_ASKED_PERCENT):
            return _("more than the whole girth here, %(mm)s") % {"mm": mm_words(girth)}
        return self._asked(length, girth, _("the planned girth")) if self.kind == "girths" else ""

    def _why_far(self, strake, station, length) -> str:
        plan = self.known.planned.get((strake.pk, station.pk))
        if plan is None:
            return _("the plan has no width of this strake here") if self.known.has_plan else ""
        asked = self._asked(length, plan, _("the plan"))
        off, usual = abs(length.nm - plan), self.known.usual_nm
        if not asked and usual and off > usual and off * 100 > NEVER_ASKED_PERCENT * plan:
            return _("%(off)s off the plan; widths here are usually within %(usual)s") % {
                "off": mm_words(off), "usual": mm_words(usual),
            }  # fmt: skip
        return asked

    def _asked(self, length, expected_nm, words) -> str:
        if abs(length.nm - expected_nm) * 100 <= NEVER_ASKED_PERCENT * expected_nm:
            return ""
        asked = question_about("", length, from_nm(expected_nm), ruler=self.ruler, expected_words=words)
        return asked.sentence if asked else ""
