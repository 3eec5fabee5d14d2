"""Entry of one figure a station: forward to aft, the point set by itself, each field with a name of its own.

Every field carries a client UUID that the server made when it drew the form, so a double tap or a lost answer
sends the same reading again. A station read twice has a second field (``at3b``), a third (``at3c``): all are kept.
"""

import re
import uuid
from dataclasses import dataclass, replace
from fractions import Fraction

from django.core.exceptions import ValidationError
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from buildlog.models import Station
from planking.lengths import UNIT_MM, Length, from_nm, show_decimal_inch, show_mm

from .lengths import FAR_PERCENT, SIXTY_FOURTHS, AskingForm, LengthField, Question, ask

NAME = re.compile(r"at(\d{1,4})([b-f]?)", re.ASCII)
WHY_LENGTH = 120


@dataclass(frozen=True)
class Place:
    """A station to be read, what is expected there and by what, and what is shown beside the field."""

    station: Station
    expected_nm: int | None = None
    was_nm: int | None = None
    # What is expected there in the words of a question, and of the row; "" is what the form says of all.
    expected_words: str = ""
    wanted_word: str = ""
    far_percent: int = FAR_PERCENT
    # What was only guessed, or would sway a second take, is asked by and not shown.
    is_shown: bool = True


@dataclass(frozen=True)
class Take:
    """One reading as it was typed, or a station skipped with a reason."""

    name: str
    client_uuid: uuid.UUID
    station: Station
    length: Length | None = None
    missing_reason: str = ""
    kept_reason: str = ""


def decimals_of(instrument, unit: str) -> int | None:
    """Return how many places the instrument shows; None for sixty-fourths, which have no point."""
    if unit == SIXTY_FOURTHS:
        return None
    if unit == "in":
        return 3
    return 3 if instrument is not None and instrument.resolution_nm < 10_000 else 2


def figure_in(unit: str, value_nm: int | None, decimals: int | None) -> str:
    """Return a length as the instrument would show it: 4.76, 0.188, or 12 1/2 sixty-fourths."""
    if value_nm is None:
        return ""
    mm = from_nm(value_nm)
    if unit == "in":
        return show_decimal_inch(mm, decimals or 3)
    if unit == SIXTY_FOURTHS:
        halves = round(mm / UNIT_MM["in"] * 128)
        return f"{halves // 2} 1/2" if halves % 2 else str(halves // 2)
    return show_mm(mm, decimals or 2)


class CaliperField(LengthField):
    """A length typed as the caliper shows it, the point left out: 476 is 4.76 where about 4.76 is expected."""

    def __init__(self, *, decimals, **kwargs):
        super().__init__(required=False, **kwargs)
        self.decimals = decimals
        self.widget.attrs.update({"placeholder": "–", "maxlength": 40})

    def clean(self, value):
        text = str(value or "").strip()
        length = super().clean(self._pointed(text))
        if length is None:
            return None
        if length.nm < 1:
            raise ValidationError(_("%(words)s must be more than nothing.") % {"words": capfirst(self.words)})
        return length

    def question(self, name: str, length: Length) -> Question | None:
        """Ask, and where nothing else was likely, offer the bare figures as the other unit's instrument has them."""
        asked = super().question(name, length)
        if asked is None or asked.answers:
            return asked
        return ask(name, length, asked.first, self._as_other_unit(length)) if self._as_other_unit(length) else asked

    def _as_other_unit(self, length: Length) -> list[tuple[str, Fraction]]:
        """Return "5.00 mm" for 500 on a caliper of inches, "0.197 in" for 197 on one of mm, where that is about it."""
        digits = re.sub(r"[.,]", "", length.typed).lstrip("0")
        if not re.fullmatch(r"\d{2,5}", digits, re.ASCII):
            return []
        places, unit = (3, "in") if self.ruler.unit == "mm" else (2, "mm")
        figure = Fraction(int(digits), 10**places)
        mm, expected = figure * UNIT_MM[unit], from_nm(self.expected_nm)
        if abs(mm - expected) * 100 > FAR_PERCENT * expected:
            return []
        return [(f"{float(figure):.{places}f} {unit}" + (" on the model" if unit == "in" else ""), mm)]

    def _pointed(self, text: str) -> str:
        places = self.decimals
        if not places or not re.fullmatch(r"\d{2,9}", text, re.ASCII) or len(text) < places:
            return text
        pointed = f"{text[:-places] or '0'}.{text[-places:]}"
        if self.expected_nm is None:
            return pointed if len(text) > places else text
        unit_mm = UNIT_MM["in" if self.ruler.unit == "in" else "mm"]
        expected = from_nm(self.expected_nm)
        return min((pointed, text), key=lambda figure: abs(Fraction(figure) * unit_mm - expected))


class TakesForm(AskingForm):
    """One field a station and take. ``draft`` redraws what was typed without judging it."""

    prompt = ""

    def __init__(self, data=None, *, places, ruler, decimals, draft=None, saved=None, **kwargs):
        self.places, self.ruler, self.decimals, self.draft = places, ruler, decimals, draft
        self.takes_by_name, self.saved = {}, saved or {}
        super().__init__(data, initial=self._initial(draft), **kwargs)
        source = self.data if self.is_bound else (draft or {})
        for name, place in _names(places, source):
            self.fields[name] = self._field(place)
            self.takes_by_name[name] = (place, _uuid_of(source.get(f"{name}-uuid")))
        self.unknown = _unknown(source, self.fields)

    @staticmethod
    def _initial(draft):
        return {name: draft[name] for name in draft} if draft else None

    def was_answered(self, name: str) -> bool:
        """Say whether the figure of a field is the answer to a question, so that it is not asked about again."""
        return bool(self.data.get(f"{self.add_prefix(name)}-take"))

    def _field(self, place):
        words = self.prompt % {"station": place.station.name}
        return CaliperField(
            ruler=self.ruler, decimals=self.decimals, words=words, expected_nm=place.expected_nm,
            expected_words=place.expected_words or self.expected_words, far_percent=place.far_percent,
        )  # fmt: skip

    expected_words = ""

    def clean(self):
        cleaned = super().clean()
        for name, typed in self.unknown.items():
            self.add_error(
                None,
                _("There is no station here for %(name)s; its figure %(typed)s was not kept.")
                % {"name": name, "typed": typed},
            )
        return cleaned

    def why(self, name: str) -> str:
        source = self.data if self.is_bound else (self.draft or {})
        return str(source.get(f"{name}-why", "") or "").strip()[:WHY_LENGTH]

    def takes(self) -> list[Take]:
        """Return what can be kept: every figure that is read and not asked about, and every skip with a
        reason.
        """
        kept = []
        for name, (place, client_uuid) in self.takes_by_name.items():
            length = self.cleaned_data.get(name)
            why = "" if length or self.data.get(name) else self.why(name)
            if length is None and not why:
                continue
            reason = self.kept_reasons.get(name, "")
            # Asks speak of the figure with its point; the record keeps the text as it was typed.
            as_typed = length and replace(length, typed=str(self.data.get(name)).strip())
            kept.append(Take(name, client_uuid, place.station, as_typed, why, reason))
        return kept

    @property
    def rows(self) -> list[dict]:
        """Return what the template draws of each field, forward to aft, takes of one station together."""
        return [self._row(name) for name in self.takes_by_name]

    def _row(self, name):
        place, client_uuid = self.takes_by_name[name]
        return self.row(
            name, station=place.station, wanted=self.figure(place.expected_nm if place.is_shown else None),
            wanted_word=place.wanted_word, was=self.figure(place.was_nm),
            uuid=client_uuid, why=self.why(name), saved=self.saved.get(name),
            saved_figure=self.figure(self.saved[name].value_nm) if name in self.saved else "",
            is_repeat=not name[-1].isdigit(),
        )  # fmt: skip

    def figure(self, value_nm) -> str:
        return figure_in(self.ruler.unit, value_nm, self.decimals)

    @property
    def is_odd(self) -> bool:
        return bool(self.questions)


def _names(places, source):
    """Return the field names in the order of the hull: each station, and its further takes as sent."""
    extra: dict[int, list[str]] = {}
    for field in source:
        name = field.removesuffix("-kept")
        match = NAME.fullmatch(name)
        if match and match[2]:
            extra.setdefault(int(match[1]), []).append(name)
    for place in places:
        position = place.station.position
        for name in [f"at{position}", *sorted(extra.get(position, []))]:
            yield name, place


def _unknown(source, fields) -> dict[str, str]:
    return {
        name: str(source[name])[:40]
        for name in source
        if NAME.fullmatch(name) and name not in fields and str(source[name]).strip()
    }


def kept_names(data) -> dict[str, str]:
    """Return which fields of a post stand for readings that an earlier post saved: their names and uuids."""
    kept = {}
    for name in data:
        stem = name.removesuffix("-kept")
        if stem != name and NAME.fullmatch(stem):
            kept[stem] = str(data[name])
    return kept


def _uuid_of(text) -> uuid.UUID:
    try:
        return uuid.UUID(str(text))
    except ValueError:
        return uuid.uuid4()


def next_take_name(form: TakesForm, name: str) -> str:
    """Return the name of one more take of a station, or "" when there are six."""
    match = NAME.fullmatch(name)
    if not match:
        return ""
    letters = [
        other[-1]
        for other in form.takes_by_name
        if other.startswith(f"at{match[1]}") and not other[-1].isdigit()
    ]
    free = [letter for letter in "bcdef" if letter not in letters]
    return f"at{match[1]}{free[0]}" if free else ""
