"""Entry of one opening's gap, station by station, with how it was read."""

import math

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from buildlog.models import Reading

from .lengths import Question, keep_name, take_name
from .takes import TakesForm

# The bilge whose chord is told: 30 mm, a common radius at 1:48 (common practice, no source).
BILGE_RADIUS_MM = 30.0


def chord_short_mm(along_mm: float, radius_mm: float = BILGE_RADIUS_MM) -> float:
    """Return how much caliper jaws read short across a round bilge: the arc less its chord, 2 r sin(arc / 2r)."""
    return along_mm - 2 * radius_mm * math.sin(min(along_mm / (2 * radius_mm), math.pi / 2))


class GapsForm(TakesForm):
    """Gaps at the stations of one opening. Jaws across more than one strake are asked about: they read the chord."""

    method = forms.ChoiceField(
        choices=[
            ("paper_strip", gettext_lazy("paper strip")), ("tape", gettext_lazy("tape")),
            ("dividers", gettext_lazy("dividers")), ("jaws", gettext_lazy("jaws")),
        ],
        widget=forms.RadioSelect,
        error_messages={
            "required": gettext_lazy("Say how the gap was read: paper strip, tape, dividers or jaws."),
            "invalid_choice": gettext_lazy("The way of reading has to be paper strip, tape, dividers or jaws."),
        },
    )  # fmt: skip

    def __init__(self, data=None, *, strakes_left=None, **kwargs):
        self.strakes_left = strakes_left or {}
        self.prompt, self.expected_words = self.words()
        super().__init__(data, **kwargs)

    @staticmethod
    def words() -> tuple[str, str]:
        """Return how a figure is asked for, and what it is compared with."""
        return _("gap at %(station)s"), _("the gap reckoned")

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("method") == Reading.Method.JAWS:
            self._challenge_jaws()
        return cleaned

    def _challenge_jaws(self):
        """Caliper jaws never span several strakes: they read the chord, not the way along the surface."""
        wide = [
            float(self.cleaned_data[name].mm)
            for name, (place, _uuid) in self.takes_by_name.items()
            if self.cleaned_data.get(name) and self.strakes_left.get(place.station.name, 2) > 1
        ]
        if not wide:
            return
        first = _("Caliper jaws read the chord, not along the surface.")
        rest = self.chord_words(max(wide))
        answers = [
            {"label": label, "name": take_name("method"), "value": value}
            for value, label in self.fields["method"].choices
            if value != Reading.Method.JAWS
        ]
        keep = _("It was jaws, with a reason")
        self.put_question("method", Question("method", first, rest, answers, keep))

    @staticmethod
    def chord_words(along_mm: float) -> str:
        """Return how short the jaws would read, and the question what it was read with."""
        return _("On a bilge of 30 mm radius, %(gap).2f would read %(short).2f short. Was it one of these?") % {
            "gap": along_mm, "short": chord_short_mm(along_mm),
        }  # fmt: skip

    @property
    def jaws_reason(self) -> str:
        return self.reason_for("method") if self.cleaned_data.get("method") == Reading.Method.JAWS else ""

    @property
    def method_row(self) -> dict:
        return self.row("method", keep_name=keep_name("method"))
