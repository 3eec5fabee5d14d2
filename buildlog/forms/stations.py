"""Stations: how many, what they are called, and how far apart they stand."""

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from .builds import VersionedForm
from .lengths import AskingForm, LengthField

MOST_STATIONS = 40
NAME_LENGTH = 20
# Frames have letters forward of dead flat and numbers aft of it; bulkheads and stations are counted from the
# bow.
FRAMES = {
    3: ["H", "⊗", "8"],
    5: ["Q", "H", "⊗", "8", "16"],
    9: ["Q", "M", "H", "D", "⊗", "4", "8", "12", "16"],
}
DEAD_FLAT_NAMES = {"⊗", "0", "df", "dead flat", "midship", "midships"}


def prefilled_names(count: int, word: str) -> list[str]:
    """Return names to begin with, forward to aft; every one can be typed over."""
    if word == "frame" and count in FRAMES:
        return FRAMES[count]
    return [str(number) for number in range(1, count + 1)]


def likely_dead_flat(names) -> int:
    """Return the index of the widest: the one that says so, else the middle one."""
    for index, name in enumerate(names):
        if name.casefold() in DEAD_FLAT_NAMES:
            return index
    return len(names) // 2


class StationCountForm(VersionedForm):
    how_many = forms.ChoiceField(
        label=gettext_lazy("At how many places along the hull will you measure?"),
        choices=[("3", "3"), ("5", "5"), ("9", "9"), ("other", gettext_lazy("other"))],
        widget=forms.RadioSelect,
        error_messages={
            "required": gettext_lazy("How many: choose one."),
            "invalid_choice": gettext_lazy("How many: choose one of the four."),
        },
    )
    other = forms.IntegerField(
        label=gettext_lazy("How many, if other"),
        required=False,
        min_value=2,
        max_value=MOST_STATIONS,
        widget=forms.NumberInput(attrs={"inputmode": "numeric", "class": "figure"}),
        error_messages={
            "invalid": gettext_lazy("How many, if other: write a whole number, such as 7."),
            "min_value": gettext_lazy("How many, if other: two at least, one towards each end."),
            "max_value": gettext_lazy("How many, if other: 40 at most."),
        },
    )
    word = forms.ChoiceField(
        label=gettext_lazy("What do you call them?"),
        choices=[
            ("frame", gettext_lazy("frames")),
            ("bulkhead", gettext_lazy("bulkheads")),
            ("station", gettext_lazy("stations")),
        ],
        widget=forms.RadioSelect,
        error_messages={
            "required": gettext_lazy("What you call them: choose one."),
            "invalid_choice": gettext_lazy("What you call them: choose one of the three."),
        },
    )

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("how_many") == "other" and "other" not in self.errors and not cleaned.get("other"):
            self.add_error("other", _("How many, if other: write the number, such as 7."))
        return cleaned

    @property
    def count(self) -> int:
        """A number written beside the choices is meant, whichever choice was left standing."""
        return self.cleaned_data.get("other") or int(self.cleaned_data["how_many"])


class StationNamesForm(AskingForm, VersionedForm):
    """One name a station, forward to aft; which is the widest; how far apart, if wished."""

    def __init__(self, *args, names, ruler, distances=(), dead_flat=None, **kwargs):
        super().__init__(*args, **kwargs)
        self.count, self.ruler = len(names), ruler
        for index, name in enumerate(names):
            self.fields[f"name_{index}"] = self._name_field(index, name)
        self.fields["dead_flat"] = forms.TypedChoiceField(
            label=_("The widest place, dead flat"),
            coerce=int,
            choices=[(index, name) for index, name in enumerate(names)],
            initial=likely_dead_flat(names) if dead_flat is None else dead_flat,
            error_messages=dict.fromkeys(
                ("required", "invalid_choice"), _("The widest place: choose one of the places.")
            ),
        )
        for index in range(self.count - 1):
            words = _("distance from %(here)s to %(next)s") % {"here": names[index], "next": names[index + 1]}
            field = LengthField(ruler=ruler, words=words, required=False)
            field.initial = distances[index] if index < len(distances) else ""
            self.fields[f"distance_{index}"] = field

    @staticmethod
    def _name_field(index, name):
        number = {"number": index + 1}
        return forms.CharField(
            label=_("Name of place %(number)d") % number,
            initial=name,
            max_length=NAME_LENGTH,
            error_messages={
                "required": _("Name of place %(number)d: nothing was typed.") % number,
                "max_length": _("Name of place %(number)d: 20 characters at most.") % number,
            },
            widget=forms.TextInput(attrs={"autocomplete": "off", "class": "input"}),
        )

    def clean(self):
        cleaned = super().clean()
        seen = {}
        for index in range(self.count):
            name = cleaned.get(f"name_{index}")
            if name and not name.isprintable():
                self.add_error(f"name_{index}", ValidationError(
                    _("Name of place %(number)d: it holds a character that cannot be seen.")
                    % {"number": index + 1}
                ))  # fmt: skip
            elif name and name in seen:
                self.add_error(f"name_{index}", ValidationError(
                    _('Name of place %(number)d: "%(name)s" is the name of place %(first)d already.')
                    % {"number": index + 1, "name": name, "first": seen[name]}
                ))  # fmt: skip
            elif name:
                seen[name] = index + 1
        self._clean_distances()
        return cleaned

    def _clean_distances(self):
        given = [i for i in range(self.count - 1) if self.cleaned_data.get(f"distance_{i}") is not None]
        broken = any(name.startswith("distance_") for name in self.errors)
        if broken or not given or given == [0] or len(given) == self.count - 1:
            return
        missing = next(i for i in range(self.count - 1) if i not in given)
        self.add_error(f"distance_{missing}", ValidationError(
            _("%(words)s: write all of them, only the first where all are alike, or none.")
            % {"words": self.fields[f"distance_{missing}"].label}
        ))  # fmt: skip

    @property
    def names(self) -> list[str]:
        return [self.cleaned_data[f"name_{index}"] for index in range(self.count)]

    @property
    def distances_nm(self) -> list[int]:
        """The distances between neighbours, or none; the first alone speaks for all."""
        lengths = [self.cleaned_data.get(f"distance_{index}") for index in range(self.count - 1)]
        if lengths and lengths[0] is not None and all(length is None for length in lengths[1:]):
            lengths = [lengths[0]] * len(lengths)
        return [length.nm for length in lengths if length is not None]

    def name_rows(self):
        return [self[f"name_{index}"] for index in range(self.count)]

    def distance_rows(self):
        return [self.row(f"distance_{index}") for index in range(self.count - 1)]

    @property
    def distances_shown(self) -> bool:
        """Folded away unless something in there wants looking at."""
        return any(row["problems"] or row["question"] for row in self.distance_rows())
