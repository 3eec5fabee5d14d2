"""Why a plank was spoiled, taken off, or hung by mistake."""

from django import forms
from django.utils.translation import gettext_lazy as _


class ReasonForm(forms.Form):
    reason = forms.CharField(
        label=_("Why"), max_length=300, strip=True, widget=forms.TextInput(attrs={"autocomplete": "off"}),
        error_messages={
            "required": _("Why: write a few words, so that it is known next time."),
            "max_length": _("Why: at most %(limit_value)d letters; this has %(show_value)d."),
        },
    )  # fmt: skip
