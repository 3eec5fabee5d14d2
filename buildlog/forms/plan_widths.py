"""Cells of a draft of the plan as they are typed: a row of them, or one."""

import re
from dataclasses import dataclass, field

from django import forms
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from planking.lengths import PlankingError, from_nm, show_full_size, show_mm

from .lengths import Ruler, read_typed, ruler_of, scale_of

_WITH_COMMA = re.compile(r"\d*,\d+(\s*mm)?", re.ASCII)
# The longest that is kept as typed; nobody writes a width in more.
LONGEST = 40


def cell_ruler(build, size: str) -> Ruler:
    """Return how a bare figure in a cell is read: inches of the ship, or as the build's caliper reads."""
    if size == "full" and build.scale:
        return Ruler(unit="in", size="full", scale=scale_of(build))
    return ruler_of(build)


def shown_in_cell(width, ruler: Ruler, what: str = "width") -> str:
    """Return what stands in a cell: as it was typed at this size, else the length shown at it."""
    nm = getattr(width, f"{what}_nm", None)
    if nm is None:
        return ""
    if what == "width" and width.typed and width.size == ruler.size:
        # 4,10 is what was typed; among the figures of the table it is written as they are.
        return width.typed.replace(",", ".") if _WITH_COMMA.fullmatch(width.typed) else width.typed
    if ruler.size == "full":
        return show_full_size(from_nm(nm), ruler.scale).text.removesuffix(" in")
    # A bare figure is read by the caliper's unit, so mm are written out where that is another.
    return show_mm(from_nm(nm)) + ("" if ruler.unit == "mm" else " mm")


@dataclass
class CellAsTyped:
    """One cell that was changed on the screen; ``length`` is None where it was emptied."""

    station: object
    text: str
    seen_nm: int | None
    length: object = None
    problem: str = ""


@dataclass
class RowAsTyped:
    """The cells of one strake that differ from what was shown. Untouched cells are not sent on."""

    cells: list[CellAsTyped] = field(default_factory=list)

    @property
    def problems(self) -> dict[int, CellAsTyped]:
        return {cell.station.pk: cell for cell in self.cells if cell.problem}


def read_row(data, *, label: str, stations, ruler: Ruler, what: str = "width") -> RowAsTyped:
    """Read the cells that were sent: ``w-PK`` the text, ``was-PK`` the nm and the text that stood there."""
    row = RowAsTyped()
    for station in stations:
        text = data.get(f"w-{station.pk}")
        if text is None:
            continue
        seen_nm, seen_text = _seen(data.get(f"was-{station.pk}", ""))
        if text.strip() == seen_text.strip():
            continue
        row.cells.append(_read(text.strip(), station, seen_nm, label=label, ruler=ruler, what=what))
    return row


def _seen(was: str) -> tuple[int | None, str]:
    nm, _bar, text = was.partition("|")
    # isdecimal alone would let other scripts' figures and figures of any length through.
    return (int(nm) if nm.isascii() and nm.isdecimal() and len(nm) < 16 else None), text


def _read(text, station, seen_nm, *, label, ruler, what) -> CellAsTyped:
    cell = CellAsTyped(station, text, seen_nm)
    if not text:
        return cell
    named = {"label": label, "at": station.name}
    words = _("thickness of strake %(label)s at %(at)s") if what == "thickness" else _(
        "width of strake %(label)s at %(at)s"
    )
    words = words % named
    if len(text) > LONGEST:
        sentence = _("%(words)s: write it in %(n)d characters or fewer.")
        cell.problem = sentence % {"words": capfirst(words), "n": LONGEST}
        return cell
    try:
        cell.length = read_typed(text, words=words, ruler=ruler, allow_zero=False)
    except PlankingError as refused:
        cell.problem = refused.sentence
        return cell
    if cell.length.nm <= 0:
        cell.problem, cell.length = _("%(text)s is less than can be kept.") % {"text": text}, None
    return cell


class DivideForm(forms.Form):
    """Which strakes share what is left, at which stations, and how."""

    how = forms.ChoiceField(choices=[], widget=forms.RadioSelect)
    strakes = forms.MultipleChoiceField(widget=forms.CheckboxSelectMultiple)
    stations = forms.MultipleChoiceField(widget=forms.CheckboxSelectMultiple)

    def __init__(self, data=None, *, open_strakes, stations, **kwargs):
        super().__init__(data, **kwargs)
        self.fields["how"].choices = [
            ("equal", _("the chosen strakes come out equal, the others stay")),
            ("add", _("each chosen strake takes an equal part of what is left")),
        ]
        self.fields["strakes"].label = _("Strakes that share")
        self.fields["strakes"].choices = [
            (str(s.plan.strake.uuid), f"{s.label} ({s.plan.belt})" if s.plan.belt else s.label)
            for s in open_strakes
        ]
        self.fields["stations"].label = _("At")
        self.fields["stations"].choices = [(str(s.uuid), s.name) for s in stations]
        missing = {
            "how": _("How: choose one of the two."),
            "strakes": _("Strakes that share: choose one or more."),
            "stations": _("At: choose one or more stations."),
        }
        gone = _("One of these is not in the draft any more, or is locked.")
        for name, sentence in missing.items():
            self.fields[name].error_messages |= {"required": sentence, "invalid_choice": gone}


def size_told(value: str | None, build) -> str:
    """Return the size in which cells are written: full where asked for and the scale is known, else model."""
    return "full" if value == "full" and build.scale else "model"


