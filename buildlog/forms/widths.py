"""Entry of one strake's widths."""

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from buildlog.models import Reading
from planking.lengths import from_nm, show_mm

from .lengths import ask
from .takes import TakesForm

_CHOICE = ("required", "invalid_choice")


class WidthsForm(TakesForm):
    """Widths of one strake, each judged by the plan and by the builder's own spread."""

    damp = forms.ChoiceField(
        choices=[("dry", gettext_lazy("dry")), ("damp", gettext_lazy("damp"))], widget=forms.RadioSelect,
        error_messages=dict.fromkeys(_CHOICE, gettext_lazy("Say whether the wood is dry or damp.")),
    )  # fmt: skip
    stage = forms.ChoiceField(
        choices=[("cut", gettext_lazy("cut")), ("hung", gettext_lazy("hung"))], widget=forms.RadioSelect,
        error_messages=dict.fromkeys(_CHOICE, gettext_lazy("Say whether the plank is cut or hung.")),
    )  # fmt: skip

    def __init__(self, data=None, *, spread=None, same_as="", **kwargs):
        self.spread, self.same_as = spread, same_as
        self.prompt, self.expected_words = _("width at %(station)s"), _("the plan")
        super().__init__(data, **kwargs)

    def clean(self):
        cleaned = super().clean()
        for name, (place, _uuid) in self.takes_by_name.items():
            length = self.cleaned_data.get(name)
            if length is not None and place.expected_nm:
                self._ask_by_spread(name, length, place)
        return cleaned

    def why(self, name: str) -> str:
        """Return why a station was left out; *same for the other side* marks all that were, and copies no figure."""
        said = super().why(name)
        marks = self.same_as and self.is_bound and self.data.get("same") and name[-1].isdigit()
        return said or (self.same_as if marks and not self.data.get(name) else "")

    def _ask_by_spread(self, name, length, place):
        """Ask about a figure that is nothing like this builder's own, though it is near enough to the plan."""
        off = length.nm - place.expected_nm
        if self.spread is None or self.was_answered(name) or not self.spread.is_odd(off, place.expected_nm):
            return
        first = _("%(mm)s is %(off)s off the plan (%(plan)s); yours are mostly within %(usual)s of it.") % {
            "mm": show_mm(length.mm), "off": show_mm(from_nm(abs(off))),
            "plan": show_mm(from_nm(place.expected_nm)), "usual": show_mm(from_nm(self.spread.usual_nm)),
        }  # fmt: skip
        self.put_question(name, ask(self.add_prefix(name), length, first, []))

    @property
    def method(self) -> str:
        """Caliper jaws do not go on a hung plank: there it is dividers and rule, with their own doubt."""
        hung = self.cleaned_data.get("stage") == Reading.Stage.HUNG
        return Reading.Method.DIVIDERS if hung else Reading.Method.JAWS
