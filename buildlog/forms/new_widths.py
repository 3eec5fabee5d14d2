"""What is asked before new widths are put in force: the reason, and the count where it changes."""

from django import forms
from django.utils.translation import gettext_lazy as _

MOST_LEFT = 60


class LeftForm(forms.Form):
    """Another number of strakes for the gap, to look at before anything is changed."""

    left = forms.IntegerField(
        label=_("Strakes left to hang"),
        required=False,
        min_value=1,
        max_value=MOST_LEFT,
        widget=forms.NumberInput(attrs={"inputmode": "numeric", "class": "figure"}),
        error_messages={
            "invalid": _("Strakes left to hang: write a whole number."),
            "min_value": _("Strakes left to hang: one at least."),
            "max_value": _("Strakes left to hang: 60 at most."),
        },
    )


class ModeForm(forms.Form):
    """In which way what is short is shared; evenly where nothing is said."""

    mode = forms.ChoiceField(
        required=False,
        choices=[("even", "even"), ("by_width", "by width"), ("hidden_first", "hidden first"), ("fair", "fair")],
        widget=forms.HiddenInput,
        error_messages={"invalid_choice": _("This page was opened in an unusual way. Load it again.")},
    )


class PutInForceForm(LeftForm, ModeForm):
    serial = forms.IntegerField(
        min_value=0,
        widget=forms.HiddenInput,
        error_messages={
            "required": _("This page was opened in an unusual way. Load it again."),
            "invalid": _("This page was opened in an unusual way. Load it again."),
        },
    )
    reason = forms.CharField(
        label=_("Why"),
        max_length=300,
        help_text=_("It stands with the revision, for whoever asks later."),
        error_messages={
            "required": _("Why: write a few words, such as the gap read today."),
            "max_length": _("Why: 300 characters at most."),
        },
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["left"].widget = forms.HiddenInput()
