"""Entry of girths, station by station, and of what the drawing says they should be."""

import math

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planking.lengths import from_nm, show_mm

from .gaps import GapsForm
from .lengths import LengthField

# A side turns about a quarter round from keel to wale; a quarter of a circle has this share of its arc as chord.
QUARTER_CHORD_SHARE = 2 * math.sqrt(2) / math.pi


def quarter_short_mm(along_mm: float) -> float:
    """Return how much caliper jaws read short across a quarter of a circle: its arc less its chord."""
    return along_mm * (1 - QUARTER_CHORD_SHARE)


class GirthsForm(GapsForm):
    """Girths of one opening, fixed line to fixed line. One smaller than what hangs there already cannot be."""

    method = forms.ChoiceField(
        choices=GapsForm.base_fields["method"].choices,
        widget=forms.RadioSelect,
        error_messages={
            "required": gettext_lazy("Say how the girth was read: paper strip, tape, dividers or jaws."),
            "invalid_choice": gettext_lazy("The way of reading has to be paper strip, tape, dividers or jaws."),
        },
    )

    def __init__(self, data=None, *, hung=None, **kwargs):
        self.hung = hung or {}
        super().__init__(data, **kwargs)

    @staticmethod
    def words():
        return _("girth at %(station)s"), _("the drawing or plan")

    @staticmethod
    def chord_words(along_mm: float) -> str:
        return _(
            "A side turns about a quarter round: jaws would read %(girth).2f about %(short).1f short. "
            "Was it one of these?"
        ) % {"girth": along_mm, "short": quarter_short_mm(along_mm)}

    def clean(self):
        cleaned = super().clean()
        for name, (place, _uuid) in self.takes_by_name.items():
            length, hung = self.cleaned_data.get(name), self.hung.get(place.station.pk)
            if length is not None and hung and length.nm < hung.nm:
                self._refuse_smaller(name, length, place, hung)
        return cleaned

    def _refuse_smaller(self, name, length, place, hung):
        self.add_error(
            name,
            _("Girth at %(station)s: %(girth)s is less than the %(count)s strakes hung there, %(hung)s together.")
            % {"station": place.station.name, "girth": show_mm(length.mm), "count": hung.strakes,
               "hung": show_mm(from_nm(hung.nm))},
        )  # fmt: skip


class DrawingGirthsForm(forms.Form):
    """What the drawing says at each station, in the build's own unit or as typed: 162 in at full size."""

    def __init__(self, data=None, *, stations, ruler, drawn, **kwargs):
        self.stations = {f"at{station.position}": station for station in stations}
        initial = {
            name: f"{show_mm(from_nm(drawn[station.pk]), 3)} mm"
            for name, station in self.stations.items()
            if station.pk in drawn
        }
        super().__init__(data, initial=initial, **kwargs)
        self.drawn = drawn
        for name, station in self.stations.items():
            words = _("drawing girth at %(station)s") % {"station": station.name}
            self.fields[name] = LengthField(ruler=ruler, words=words, required=False, label=station.name)
            self.fields[name].widget.attrs["class"] = "input"

    def typed(self) -> dict:
        """Return the girth in nm that each station was given, None where it was emptied; untouched ones stay."""
        changed = {name for name in self.changed_data if name in self.stations}
        return {
            station: self.cleaned_data[name].nm if self.cleaned_data.get(name) else None
            for name, station in self.stations.items()
            if name in changed
        }
