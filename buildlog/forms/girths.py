"""Entry of girths, station by station, and of what the drawing says they should be."""

import math
from dataclasses import replace
from statistics import median

from django import forms
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planking.lengths import from_nm, show_mm

from .gaps import GapsForm
from .lengths import AskingForm, LengthField, ask

# A side turns about a quarter round from keel to wale; a quarter of a circle has this share of its arc as chord.
QUARTER_CHORD_SHARE = 2 * math.sqrt(2) / math.pi
# A girth is judged by its neighbours alone where it is off by more than hulls taper between stations; a slip of a
# digit or of the unit is off by far more (common practice, no source).
GUESS_FAR_PERCENT = 60
FEWEST_FOR_A_MIDDLE = 3


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
        self._expect_the_middle()
        cleaned = super().clean()
        for name, (place, _uuid) in self.takes_by_name.items():
            sentence = self._less_than_hung(name, place)
            if sentence:
                self.add_error(name, sentence)
        return cleaned

    def _expect_the_middle(self):
        """Where nothing at all is known, judge first girths by the middle of what was typed together."""
        read = {name: one.nm for name in self.takes_by_name if (one := self.cleaned_data.get(name))}
        if len(read) < FEWEST_FOR_A_MIDDLE:
            return
        middle = round(median(read.values()))
        for name in read:
            field = self.fields[name]
            if field.expected_nm is None:
                field.expected_nm, field.far_percent = middle, GUESS_FAR_PERCENT
                field.expected_words = _("the middle of the others")

    def put_question(self, name, question):
        """Ask; but where no other reading is likely, that more hangs there already says it better."""
        place, _uuid = self.takes_by_name.get(name, (None, None))
        if question and place and not question.answers and self._less_than_hung(name, place):
            return
        super().put_question(name, question)

    def _less_than_hung(self, name, place) -> str:
        return less_than_hung(self.fields[name].words, self.cleaned_data.get(name), self.hung.get(place.station.pk))


def less_than_hung(words, length, hung) -> str:
    """Return that less was read or drawn than hangs there, with both figures; "" where it is not so."""
    if length is None or not hung or length.nm >= hung.nm:
        return ""
    return _("%(words)s: %(girth)s is less than the %(count)s strakes hung there, %(hung)s together.") % {
        "words": capfirst(words), "girth": show_mm(length.mm), "count": hung.strakes, "hung": show_mm(from_nm(hung.nm)),
    }  # fmt: skip


class DrawingGirthsForm(AskingForm):
    """What the drawing says at each station, in the build's own unit or as typed: 162 in at full size.

    Less than what hangs there is asked about, not refused: a hull may be built larger than it is drawn.
    """

    def __init__(self, data=None, *, stations, ruler, drawn, planned=None, hung=None, **kwargs):
        self.stations = {f"at{station.position}": station for station in stations}
        self.drawn, self.hung = drawn, hung or {}
        initial = {
            name: f"{show_mm(from_nm(drawn[station.pk]), 3)} mm"
            for name, station in self.stations.items()
            if station.pk in drawn
        }
        super().__init__(data, initial=initial, **kwargs)
        for name, station in self.stations.items():
            words = _("drawing girth at %(station)s") % {"station": station.name}
            expected_nm = (planned or {}).get(station.pk)
            self.fields[name] = LengthField(
                ruler=ruler, words=words, required=False, label=station.name, expected_nm=expected_nm
            )
            self.fields[name].widget.attrs["class"] = "input"

    def put_question(self, name, question):
        """Ask of what is new alone: what stands was asked about when it was typed."""
        if name not in self.changed_data:
            return
        length, hung = self.cleaned_data[name], self.hung.get(self.stations[name].pk)
        sentence = less_than_hung(self.fields[name].words, length, hung)
        if sentence:
            question = replace(question, first=sentence) if question else ask(name, length, sentence, [])
        super().put_question(name, question)

    def typed(self) -> dict:
        """Return the girth in nm that each station was given, None where it was emptied; untouched ones stay."""
        changed = {name for name in self.changed_data if name in self.stations}
        return {
            station: self.cleaned_data[name].nm if self.cleaned_data.get(name) else None
            for name, station in self.stations.items()
            if name in changed
        }

    @property
    def reasons(self) -> dict[str, str]:
        """Return why an odd figure was kept, by the name of its station."""
        return {self.stations[name].name: reason for name, reason in self.kept_reasons.items()}

    @property
    def rows(self) -> list[dict]:
        return [self.row(name) for name in self.stations]
