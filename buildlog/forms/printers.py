"""A printer's two bars, as they were measured on the sheet."""

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from buildlog.models import NM_PER_MM

from .lengths import LengthField, ruler_of

BAR_NM = 100 * NM_PER_MM
# No printer is so far out; a page fitted to the paper is, and so is a bar read wrong.
FARTHEST_PERCENT = 8
PAPERS = [("A4", "A4"), ("A5", "A5"), ("A3", "A3"), ("Letter", "Letter"), ("Legal", "Legal")]


class PrinterCheckForm(forms.Form):
    printer = forms.CharField(
        label=gettext_lazy("Printer"), max_length=60, help_text=gettext_lazy("As you call it."),
        error_messages={
            "required": gettext_lazy("Printer: nothing was typed."),
            "max_length": gettext_lazy("Printer: too long for its place."),
        },
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )  # fmt: skip
    paper = forms.ChoiceField(
        label=gettext_lazy("Paper"), choices=PAPERS,
        error_messages={
            "required": gettext_lazy("Paper: choose one."), "invalid_choice": gettext_lazy("Paper: choose one."),
        },
    )  # fmt: skip

    def __init__(self, *args, build, **kwargs):
        super().__init__(*args, **kwargs)
        for name, words in (("along", _("bar along the sheet")), ("across", _("bar across the sheet"))):
            self.fields[name] = LengthField(ruler=ruler_of(build), words=words)

    def clean_printer(self):
        return " ".join(self.cleaned_data["printer"].split())

    def clean_along(self):
        return self._near(self.cleaned_data["along"], _("Bar along the sheet"))

    def clean_across(self):
        return self._near(self.cleaned_data["across"], _("Bar across the sheet"))

    def _near(self, length, name):
        if abs(length.nm - BAR_NM) * 100 > FARTHEST_PERCENT * BAR_NM:
            told = _(
                "%(name)s: %(typed)s is far from the 100 mm it should be. Print the page at 100 %%, not fitted to the "
                "paper, and measure from end to end."
            )
            raise forms.ValidationError(told % {"name": name, "typed": length.typed})
        return length
