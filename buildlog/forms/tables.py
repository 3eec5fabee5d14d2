"""What the columns of a table are taken for: proposed by their names, changed by the builder.

``TableForm`` asks for the file; ``MatchForm`` asks what each column is and what the file does not say. The answers
are a plain dict (``matches``), kept with the table.
"""

import re
from datetime import date

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from .choices import name_choices
from .sheets import MOST_BYTES, NoTable, read_sheet, text_of

KIND_CHOICES = [
    ("plan", gettext_lazy("planned widths")), ("widths", gettext_lazy("widths as read")),
    ("girths", gettext_lazy("girths as read")), ("gaps", gettext_lazy("gaps as read")),
]  # fmt: skip
UNIT_CHOICES = [
    ("mm model", gettext_lazy("mm on the model")), ("in model", gettext_lazy("inches on the model, 0.188 or 3/16")),
    ("64ths model", gettext_lazy("64ths of an inch on the model")),
    ("in full", gettext_lazy("inches at full size, 9 or 8 1/2")), ("ft full", gettext_lazy("feet at full size")),
    ("mm full", gettext_lazy("mm at full size")),
]  # fmt: skip
COLUMN_CHOICES = [
    ("", gettext_lazy("not used")), ("strake", gettext_lazy("strake")), ("station", gettext_lazy("station")),
    ("figure", gettext_lazy("the figure")), ("opening", gettext_lazy("side or opening")),
    ("when", gettext_lazy("date, or date and time")), ("person", gettext_lazy("who read it")),
    ("instrument", gettext_lazy("instrument")), ("method", gettext_lazy("method")),
    ("wood", gettext_lazy("dry or damp")), ("stage", gettext_lazy("cut or hung")),
    ("state", gettext_lazy("whether it counts")),
    ("remark", gettext_lazy("remark")), ("reading", gettext_lazy("name of the reading")),
    ("line", gettext_lazy("kind of line")), ("position", gettext_lazy("place from the keel")),
    ("run", gettext_lazy("run")), ("kind", gettext_lazy("full, drop or stealer")), ("belt", gettext_lazy("belt")),
    ("spans", gettext_lazy("spans by frame")),
]  # fmt: skip
# Names of columns that are known by themselves, folded. Common practice of people who keep such tables, no source.
_NAMES = {
    "strake": ("strake", "plank", "strake label", "label", "strake no", "strake number", "no", "no.", "nr", "number"),
    "station": ("station", "frame", "bulkhead", "at", "st", "stn"),
    "figure": ("read mm", "width", "widths", "actual", "value", "figure", "gap", "girth", "measured", "mm", "read",
               "width mm", "gap mm", "girth mm", "actual mm", "inches", "in", "reading"),
    "opening": ("opening", "side", "port/starboard"), "when": ("when", "date", "happened", "day", "read on", "taken"),
    "person": ("person", "by", "who", "name", "read by"), "instrument": ("instrument", "tool", "caliper", "with"),
    "method": ("method", "how"), "wood": ("wood", "damp", "dry or damp"), "stage": ("stage", "cut or hung"),
    "state": ("state", "counts"), "remark": ("remark", "note", "notes", "comment", "remarks"), "reading": ("reading",),
    "line": ("line",), "position": ("from the keel", "position", "order"), "run": ("run",), "kind": ("kind",),
    "belt": ("belt",), "spans": ("spans by frame", "spans"),
}  # fmt: skip
_UNIT_AT_END = re.compile(r"[\s,(\[]+(full size(?: in)?|mm|inches|inch|in)[\])]*$")
_PLAN_ONLY = {"line", "position", "run", "kind", "belt", "spans"}
_UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f-]{22}", re.IGNORECASE)


def fold(text: str) -> str:
    return " ".join(str(text).split()).casefold()


def propose(sheet, known, name: str = "", kind: str = "") -> dict:
    """Return what a table is taken for at first sight: its kind, its columns, its unit, the order of its dates."""
    columns = _columns(sheet, known)
    kind = kind or _kind(sheet, columns, known, name)
    if kind != "plan":
        columns = ["" if one in _PLAN_ONLY else one for one in columns]
    if kind == "plan" and "figure" not in columns:
        columns = _plan_figure(sheet, columns)
    return {
        "kind": kind, "columns": columns, "unit": _unit(sheet, columns, known.build), "dates": _dates(sheet, columns),
        "odd": "leave", "standing": "as_read", "opening": _opening(known, fold(f"{name} {' '.join(sheet.head)}")),
    }  # fmt: skip


def _opening(known, words: str) -> str:
    """Return the opening that a table without a column for it is of: the only one, or the one its name tells."""
    named = [pk for name, pk in known.openings.items() if name in re.split(r"[^a-z]+", words)]
    every = list(known.openings.values())
    found = every if len(every) == 1 else named
    return str(found[0]) if len(found) == 1 else ""


def _columns(sheet, known) -> list[str]:
    """Give each column one use, and each use one column; a station's first column is its own."""
    used, columns = set(), []
    sample = [cells for _number, cells in sheet.rows[:50]]
    for index, title in enumerate(sheet.head):
        use = use_of(fold(title), known, {cells[index] for cells in sample if len(cells) > index})
        columns.append("" if use in used else use)
        used.add(use)
    return columns


def use_of(title: str, known, cells) -> str:
    filled = {cell for cell in cells if cell.strip()}
    if title == "reading" and filled and all(_UUID.fullmatch(cell) for cell in filled):
        return "reading"
    if title == fold(known.build.frame_word):
        return "station"
    station = _station(title, known)
    if station:
        return f"station:{station.pk}"
    bare = _UNIT_AT_END.sub("", title)
    for tried in (title, bare):
        for use, names in _NAMES.items():
            if tried in names:
                return use
    return ""


def _station(title: str, known):
    bare = _UNIT_AT_END.sub("", title)
    words = ("station ", "st ", "frame ", f"{fold(known.build.frame_word)} ")
    tries = [title, bare, *(bare.removeprefix(word) for word in words)]
    return next((found for one in tries if (found := station_named(one, known))), None)


def station_named(name: str, known):
    """Return a station by its name; dead flat is known by its sign, by DF and by its words."""
    found = known.stations.get(fold(name))
    if found is None and fold(name) in ("df", "dead flat", "⊗"):
        found = next((s for s in known.stations.values() if s.is_dead_flat), None)
    return found


def _kind(sheet, columns, known, name) -> str:
    words = fold(" ".join([*sheet.head, name]))
    is_wide = any(one.startswith("station:") for one in columns)
    if "strake" not in columns and is_wide is False and "girth" not in words:
        return "gaps"
    if "strake" not in columns:
        return "girths" if "girth" in words else "gaps"
    if {"line", "run", "position"} & set(columns) or (is_wide and "plan" in words) or not known.has_plan:
        return "plan"
    return "widths"


def _plan_figure(sheet, columns) -> list[str]:
    titles = [_UNIT_AT_END.sub("", fold(title)) for title in sheet.head]
    at = next((i for i, title in enumerate(titles) if title in ("planned", "plan", "planned width")), None)
    return [*columns[:at], "figure", *columns[at + 1 :]] if at is not None else columns


def _unit(sheet, columns, build) -> str:
    titles = [fold(t) for t, use in zip(sheet.head, columns, strict=True) if use == "figure" or ":" in use]
    words = {match[1] for title in titles if (match := _UNIT_AT_END.search(f" {title}"))}
    if "mm" in words:
        return "mm model"
    if any(word.startswith("full size") for word in words) and build.scale:
        return "in full"
    if words & {"in", "inch", "inches"} or "inches" in titles:
        return "in model"
    return f"{build.reading_unit} model"


def _dates(sheet, columns) -> str:
    """Return whether the day or the month comes first, by a figure over twelve; the day where nothing tells."""
    if "when" not in columns:
        return "dmy"
    at = columns.index("when")
    for _number, cells in sheet.rows:
        match = re.match(r"\s*(\d{1,2})[./-](\d{1,2})[./-]\d{4}", cells[at]) if len(cells) > at else None
        if match and int(match[2]) > 12:
            return "mdy"
        if match and int(match[1]) > 12:
            return "dmy"
    return "dmy"


class TableForm(forms.Form):
    """A file, or its text pasted; ``text`` cleans to the text of a table, ``sheet`` to its rows."""

    file = forms.FileField(label=gettext_lazy("CSV file"), required=False, allow_empty_file=True)
    pasted = forms.CharField(
        label=gettext_lazy("Or paste the table"), required=False, strip=False, widget=forms.Textarea(attrs={"rows": 5})
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["file"].widget.attrs["accept"] = ".csv,.txt,.tsv,text/csv,text/plain"
        self.text, self.sheet = "", None

    def clean(self):
        cleaned = super().clean()
        file, pasted = cleaned.get("file"), cleaned.get("pasted") or ""
        field = "file" if file else "pasted"
        if not file and not pasted.strip():
            self.add_error("file", _("CSV file: choose one, or paste the table below."))
            return cleaned
        try:
            if file and file.size > MOST_BYTES:
                text_of(b"x" * (MOST_BYTES + 1))
            self.text = text_of(file.read() if file else pasted.encode("utf-8"))
            self.sheet = read_sheet(self.text)
        except NoTable as refused:
            self.add_error(field, ValidationError(str(refused)))
        return cleaned

    @property
    def name(self) -> str:
        file = self.cleaned_data.get("file")
        return file.name[:120] if file else ""


class MatchForm(forms.Form):
    """What each column is, and what the file leaves unsaid."""

    kind = forms.ChoiceField(label=gettext_lazy("This table holds"), choices=KIND_CHOICES)
    unit = forms.ChoiceField(label=gettext_lazy("Figures without a unit are"), choices=UNIT_CHOICES)
    opening = forms.ChoiceField(label=gettext_lazy("Where no side is named"), required=False)
    happened_on = forms.DateField(
        label=gettext_lazy("Read on, where no date is named"), required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": gettext_lazy("Read on: write the date as 2026-03-14.")},
    )  # fmt: skip
    dates = forms.ChoiceField(
        label=gettext_lazy("Dates such as 3/4/2026"), required=False,
        choices=[("dmy", gettext_lazy("day first")), ("mdy", gettext_lazy("month first"))],
    )
    person = forms.ChoiceField(label=gettext_lazy("Read by, where nobody is named"), required=False)
    instrument = forms.ChoiceField(label=gettext_lazy("Read with, where nothing is named"), required=False)
    standing = forms.ChoiceField(
        label=gettext_lazy("Planks the log does not have yet"), required=False,
        choices=[
            ("as_read", gettext_lazy("cut or hung, as their widths were read")), ("hung", gettext_lazy("hang now")),
            ("before_log", gettext_lazy("hung before this log")),
            ("none", gettext_lazy("leave them; keep the widths only")),
        ],
    )  # fmt: skip
    odd = forms.ChoiceField(
        label=gettext_lazy("Odd figures"), required=False,
        choices=[("leave", gettext_lazy("leave them out")), ("take", gettext_lazy("take them in as they stand"))],
    )

    def __init__(self, data=None, *, sheet, known, matches, today: date, person, **kwargs):
        self.sheet, self.known, self.today, self.kept = sheet, known, today, matches
        super().__init__(data, initial=self._initial(matches, person), **kwargs)
        self.fields["opening"].choices = [("", "–")] + [(pk, name) for name, pk in known.openings.items()]
        self.fields["person"].choices = [(p.pk, p.display_name) for p in known.people.values()]
        self.fields["instrument"].choices = [("", _("not said"))] + [(i.pk, i.name) for i in known.instruments.values()]
        if not known.build.scale:
            self.fields["unit"].choices = [choice for choice in UNIT_CHOICES if not choice[0].endswith("full")]
        uses = [*COLUMN_CHOICES, *((f"station:{s.pk}", _("station %(name)s") % {"name": s.name})
                                   for s in known.stations.values())]  # fmt: skip
        for index, title in enumerate(sheet.head):
            self.fields[f"column{index}"] = forms.ChoiceField(
                label=title or _("column %(n)d") % {"n": index + 1}, choices=uses, required=False
            )
        name_choices(self)

    def _initial(self, matches, person) -> dict:
        initial = {"happened_on": self.today, "person": person.pk, "instrument": "", **matches}
        return initial | {f"column{i}": use for i, use in enumerate(matches["columns"])}

    def clean_happened_on(self):
        day = self.cleaned_data["happened_on"]
        if day and day > self.today:
            raise ValidationError(_("Read on: this day has not come yet."))
        if day and day.year < 1900:
            raise ValidationError(_("Read on: write a day from 1900 on, such as 2026-03-14."))
        return day

    def clean(self):
        cleaned = super().clean()
        uses = [use for i in range(len(self.sheet.head)) if (use := cleaned.get(f"column{i}"))]
        twice = next((use for use in uses if uses.count(use) > 1), None)
        if twice:
            words = dict(self.fields["column0"].choices)[twice]
            sentence = _("Two columns are taken for “%(use)s”; one of them has to be not used.")
            self.add_error(None, sentence % {"use": words})
        return cleaned

    def matches(self) -> dict:
        """Return the answers as they are kept; what was not asked stays as it was."""
        told = {name: self.cleaned_data[name] for name in self.fields if name in self.data}
        if "happened_on" in told:
            told["happened_on"] = told["happened_on"].isoformat() if told["happened_on"] else ""
        columns = [told.pop(f"column{i}", "") for i in range(len(self.sheet.head))]
        return self.kept | told | {"columns": columns}

    @property
    def columns(self) -> list[dict]:
        """Return each column's choice beside the first cell that is filled."""
        rows = self.sheet.rows[:50]
        return [
            {"field": self[f"column{i}"],
             "sample": next((c[i] for _n, c in rows if len(c) > i and c[i].strip()), "")[:40]}
            for i in range(len(self.sheet.head))
        ]  # fmt: skip

    @property
    def asked(self) -> list:
        """Return the questions that this kind of table leaves open."""
        readings = ["happened_on", "dates", "person", "instrument"]
        more = {"plan": [], "widths": [*readings, "standing"]}.get(self.kept["kind"], readings)
        return [self[name] for name in ("kind", "unit", "opening", *more, "odd")]
