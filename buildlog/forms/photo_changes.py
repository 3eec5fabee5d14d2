"""A camera's clock that was late or early, and a slate."""

from django import forms
from django.utils.translation import gettext_lazy as _

_WAYS = [("late", _("late")), ("early", _("early"))]


def _whole(label, most):
    wrong = _("a whole number from 0 to %(most)d") % {"most": most}
    return forms.IntegerField(
        label=label, required=False, min_value=0, max_value=most,
        error_messages={"invalid": wrong, "min_value": wrong, "max_value": wrong},
        widget=forms.TextInput(attrs={"inputmode": "numeric", "size": 5, "autocomplete": "off"}),
    )  # fmt: skip


class ClockForm(forms.Form):
    way = forms.ChoiceField(label=_("The clock was"), choices=_WAYS, widget=forms.RadioSelect, initial="late")
    days = _whole(_("Days"), 9999)
    hours = _whole(_("Hours"), 999)
    minutes = _whole(_("Minutes"), 59)

    def clean(self):
        cleaned = super().clean()
        span = (cleaned.get("days") or 0) * 1440 + (cleaned.get("hours") or 0) * 60 + (cleaned.get("minutes") or 0)
        if not self.errors and not span:
            raise forms.ValidationError(_("Say by how much the clock was late or early."))
        cleaned["span"] = span if cleaned.get("way") == "late" else -span
        return cleaned


class SlateForm(forms.Form):
    session = forms.ChoiceField(label=_("Session"), required=False)
    strake = forms.ChoiceField(label=_("Strake"), required=False)

    def __init__(self, *args, sessions=(), strakes=(), **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["session"].choices = list(sessions)
        self.fields["strake"].choices = list(strakes)

    def clean(self):
        cleaned = super().clean()
        if not self.errors and not cleaned.get("session") and not cleaned.get("strake"):
            raise forms.ValidationError(_("Choose the session, the strake, or both."))
        return cleaned
