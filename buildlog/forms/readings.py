"""Mending one reading: another figure in its place, withdrawn, or put in doubt; always with a reason."""

from dataclasses import replace

from django import forms
from django.utils.translation import gettext_lazy as _

from buildlog.models import Amendment

from .takes import CaliperField


class AmendForm(forms.Form):
    act = forms.ChoiceField(
        label=_("What to do"),
        choices=[
            (Amendment.Act.REPLACES, _("Another figure in its place")),
            (Amendment.Act.WITHDRAWS, _("Withdraw it")),
            (Amendment.Act.DOUBTS, _("Put it in doubt")),
        ],
        widget=forms.RadioSelect,
        error_messages={
            "required": _("What to do: choose one of the three."),
            "invalid_choice": _("What to do: choose one of the three."),
        },
    )  # fmt: skip
    reason = forms.CharField(
        label=_("Why"), max_length=300,
        error_messages={
            "required": _("Why: write a few words; the old figure stays beside them."),
            "max_length": _("Why: at most %(limit_value)d letters; this has %(show_value)d."),
        },
    )  # fmt: skip
    client_uuid = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, data=None, *, ruler, decimals, words, expected_nm, **kwargs):
        super().__init__(data, **kwargs)
        self.fields["figure"] = CaliperField(
            ruler=ruler,
            decimals=decimals,
            words=words,
            expected_nm=expected_nm,
            ask_far=False,
            label=_("Figure"),
        )
        self.fields["figure"].widget.attrs["class"] = "figure"
        self.order_fields(["act", "figure", "reason", "client_uuid"])

    def clean(self):
        cleaned = super().clean()
        replaces = cleaned.get("act") == Amendment.Act.REPLACES
        if replaces and cleaned.get("figure") is None and "figure" not in self.errors:
            self.add_error("figure", _("Figure: write the one that should stand, or withdraw the old one."))
        if cleaned.get("figure"):
            cleaned["figure"] = replace(cleaned["figure"], typed=str(self.data.get("figure")).strip())
        return cleaned
