"""A tip, a mishap or a worry, and the reason a worry is closed with."""

from uuid import UUID

from django import forms
from django.utils.translation import gettext_lazy as _

from buildlog.models import Session

from .sessions import KINDS

MOST_LETTERS = 4000


class WritingForm(forms.Form):
    """Words of one kind, about one strake or none. A tip may name the operation it is found again by."""

    kind = forms.ChoiceField(
        label=_("What it is"), widget=forms.RadioSelect,
        choices=[("mishap", _("mishap")), ("tip", _("tip")), ("worry", _("worry"))],
        error_messages={
            "required": _("What it is: mishap, tip or worry."),
            "invalid_choice": _("What it is: mishap, tip or worry."),
        },
    )  # fmt: skip
    text = forms.CharField(
        label=_("In your words"), max_length=MOST_LETTERS, widget=forms.Textarea(attrs={"rows": 4}),
        error_messages={
            "required": _("In your words: nothing was typed."),
            "max_length": _("In your words: at most %(limit_value)d letters; this has %(show_value)d."),
        },
    )  # fmt: skip
    strake = forms.UUIDField(
        required=False, widget=forms.Select, label=_("About"),
        error_messages={"invalid": _("About: choose a strake from the list.")},
    )
    operation = forms.ChoiceField(
        label=_("A tip for"), required=False,
        choices=[("", _("no work of its own")), *((kind, KINDS[kind]) for kind in Session.KINDS)],
        error_messages={"invalid_choice": _("A tip for: choose from the list.")},
    )

    # Made with the page, so that a double tap writes once, and the same words of another mishap are another.
    client_uuid = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args, strakes=(), **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["strake"].widget.choices = [("", _("no strake of its own")), *strakes]
        self.named = {str(uuid) for uuid, _name in strakes}

    def clean_strake(self):
        strake = self.cleaned_data["strake"]
        if strake and str(strake) not in self.named:
            raise forms.ValidationError(_("About: choose a strake from the list."))
        return strake

    def clean_client_uuid(self):
        """A name that is none must not hold up words; they then go without."""
        try:
            return UUID(self.cleaned_data["client_uuid"])
        except ValueError:
            return None


class CloseForm(forms.Form):
    reason = forms.CharField(
        label=_("How it ended"), max_length=300, widget=forms.TextInput(attrs={"autocomplete": "off"}),
        error_messages={
            "required": _("How it ended: write a few words, so that it is known next time."),
            "max_length": _("How it ended: at most %(limit_value)d letters; this has %(show_value)d."),
        },
    )  # fmt: skip
