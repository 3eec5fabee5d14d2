"""What the first run asks about the planking: what hangs already, how many are left, and the gap at each
station.
"""

from fractions import Fraction

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planking.lengths import PlankingError, from_nm, show_mm

from .builds import VersionedForm
from .lengths import AskingForm, LengthField, Ruler, ask, read_typed

MOST_STRAKES = 60
SIDE_WORDS = {"port": gettext_lazy("port"), "starboard": gettext_lazy("starboard")}
# A strake of a model is seldom outside this; a figure that would make one is asked about. Common practice, no
# source.
USUAL_MM = (Fraction(1), Fraction(14))


def _count_field(label, words, *, least, required):
    return forms.IntegerField(
        label=label,
        required=required,
        min_value=least,
        max_value=MOST_STRAKES,
        widget=forms.NumberInput(
            attrs={"inputmode": "numeric", "class": "input figure", "autocomplete": "off"}
        ),
        error_messages={
            "required": _("%(words)s: nothing was typed.") % {"words": words},
            "invalid": _("%(words)s: write a whole number.") % {"words": words},
            "min_value": _("%(words)s: %(least)d at least.") % {"words": words, "least": least},
            "max_value": _("%(words)s: 60 at most.") % {"words": words},
        },
    )


class PlankingForm(AskingForm, VersionedForm):
    """For each side: hung from the keel, hung from the wale, strakes left (fewer at some places).

    The second side may stay empty: then it is as the first.
    """

    def __init__(self, *args, sides, stations, ruler: Ruler, **kwargs):
        super().__init__(*args, **kwargs)
        self.sides, self.stations = sides, stations
        for side in sides:
            first = side == sides[0]
            for name, label, least in self._questions():
                words = f"{label}, {SIDE_WORDS[side]}" if len(sides) > 1 else label
                field = _count_field(label, words, least=least, required=first and name == "left")
                self.fields[f"{side}_{name}"] = field
        for index, station in enumerate(stations):
            words = _("Strakes left at %(at)s") % {"at": station}
            self.fields[f"left_{index}"] = _count_field(str(station), words, least=1, required=False)
        self.fields["stock"] = LengthField(
            ruler=ruler, words=_("widest strip you have"), required=False, label=_("Widest strip you have")
        )

    @staticmethod
    def _questions():
        return [
            ("hung_keel", _("Hung from the keel"), 0),
            ("hung_wale", _("Hung from the wale"), 0),
            ("left", _("Strakes left to hang"), 1),
        ]

    def clean(self):
        cleaned = super().clean()
        for index in range(len(self.stations)):
            most, here = cleaned.get(f"{self.sides[0]}_left"), cleaned.get(f"left_{index}")
            if most and here and here > most:
                self.add_error(f"left_{index}", ValidationError(
                    _("Strakes left at %(at)s: %(here)d is more than the %(most)d left in all.")
                    % {"at": self.stations[index], "here": here, "most": most}
                ))  # fmt: skip
        if not self.errors and any(self.left_at) and max(self.counts_left) < self.told(self.sides[0])["left"]:
            most = self.told(self.sides[0])["left"]
            self.add_error("left_0", ValidationError(
                _("Strakes left at each place: one place at least has all %(most)d.") % {"most": most}
            ))  # fmt: skip
        return cleaned

    def told(self, side: str) -> dict:
        """Return the counts of one side as they count: an empty second side is as the first."""
        own = {name: self.cleaned_data.get(f"{side}_{name}") for name, _label, _least in self._questions()}
        if side != self.sides[0] and all(value is None for value in own.values()):
            return self.told(self.sides[0])
        if side != self.sides[0] and own["left"] is None:
            own["left"] = self.told(self.sides[0])["left"]
        return {name: value or 0 for name, value in own.items()}

    @property
    def typed(self) -> dict:
        names = [name for name in self.fields if name not in ("version",) and not name.startswith("left_")]
        return {name: self.data.get(name, "") for name in names}

    @property
    def left_at(self) -> list[int | None]:
        return [self.cleaned_data.get(f"left_{index}") for index in range(len(self.stations))]

    @property
    def counts_left(self) -> list[int]:
        most = self.told(self.sides[0])["left"]
        return [here or most for here in self.left_at]

    def question_rows(self):
        """Return the table of the page: one row a question, one cell a side."""
        return [
            {"label": label, "cells": [self[f"{side}_{name}"] for side in self.sides]}
            for name, label, _least in self._questions()
        ]

    def left_rows(self):
        return [self[f"left_{index}"] for index in range(len(self.stations))]

    @property
    def left_rows_shown(self) -> bool:
        return any(field.value() or field.errors for field in self.left_rows())

    def stock_row(self):
        return self.row("stock")


class GapsForm(AskingForm):
    """The gap at each station. A figure that looks like another unit is asked about, by the strakes it would
    make.
    """

    def __init__(self, *args, stations, left_at, ruler: Ruler, typed=None, like_nm=None, **kwargs):
        super().__init__(*args, **kwargs)
        self.stations, self.left_at, self.ruler = stations, left_at, ruler
        # The other side's gap, by which the keypad sets its point; nothing is judged by it.
        self.like_nm = like_nm or {}
        for index, station in enumerate(stations):
            field = LengthField(ruler=ruler, words=_("gap at %(at)s") % {"at": station}, required=False)
            field.initial = (typed or {}).get(index, "")
            field.widget.attrs["placeholder"] = "–"
            self.fields[f"gap_{index}"] = field

    def clean(self):
        cleaned = super().clean()
        given = {i: cleaned.get(f"gap_{i}") for i in range(len(self.stations)) if cleaned.get(f"gap_{i}")}
        if not given and not self.errors:
            raise ValidationError(
                _("No gap was typed yet. One place is enough to begin with; five tell more.")
            )
        for index, length in given.items():
            self.put_question(f"gap_{index}", self._question(index, length, given))
        return cleaned

    def _question(self, index, length, given):
        """Ask where the strakes would be strange, or far from those at the other places, and another unit is
        not.
        """
        left = self.left_at[index]
        each = length.mm / left
        low, high = USUAL_MM
        others = sorted(other.mm / self.left_at[i] for i, other in given.items() if i != index)
        middle = others[len(others) // 2] if others else None
        strange = not low <= each <= high
        far = middle is not None and low <= middle <= high and not middle / 3 <= each <= middle * 3
        if not strange and not far:
            return None
        reach = (middle / 2, middle * 2) if middle and low <= middle <= high else (low, high)
        answers = list(self._other_readings(length, left, reach))
        first = _("%(typed)s would make strakes of %(each)s mm.") % {
            "typed": length.typed,
            "each": show_mm(each),
        }
        return ask(self.add_prefix(f"gap_{index}"), length, first, answers)

    def _other_readings(self, length, left, reach):
        """Yield what the figure would be in another unit or size, where strakes come out usual."""
        figure = length.typed.strip()
        seen = {show_mm(length.mm)}
        for unit in ("mm on the model", "in on the model", "in at full size", "mm at full size"):
            text = f"{figure} {unit}"
            try:
                other = read_typed(text, words="gap", ruler=self.ruler)
            except PlankingError:
                continue
            if reach[0] <= other.mm / left <= reach[1] and show_mm(other.mm) not in seen:
                seen.add(show_mm(other.mm))
                yield text, other.mm
        for divisor in (10, 100, 1000):
            shifted = length.mm / divisor
            if length.unit == "mm" and length.size == "model" and reach[0] <= shifted / left <= reach[1]:
                yield f"{show_mm(shifted, 3).rstrip('0').rstrip('.')} mm", shifted

    def gaps(self) -> dict[int, dict]:
        """Return what was typed, by the index of the station, as the records keep it."""
        found = {}
        for index in range(len(self.stations)):
            length = self.cleaned_data.get(f"gap_{index}")
            if length is not None:
                found[index] = {
                    "nm": length.nm, "typed": length.typed[:40], "unit": length.unit, "size": length.size,
                    "reason": self.kept_reasons.get(f"gap_{index}", ""),
                }  # fmt: skip
        return found

    def rows(self):
        return [
            self.row(f"gap_{index}", station=station, left=self.left_at[index], wanted=self._wanted(index))
            for index, station in enumerate(self.stations)
        ]

    def _wanted(self, index) -> str:
        nm = self.like_nm.get(index)
        return show_mm(from_nm(nm)) if nm else ""

    @property
    def places(self) -> str:
        """How many figures follow the point when a thumb types without it; none where it cannot be known."""
        return "2" if self.ruler.unit == "mm" else ""
