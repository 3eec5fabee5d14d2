"""Which day the hull is to be shown as of."""

from django import forms
from django.utils.translation import gettext_lazy as _


class KnownOnForm(forms.Form):
    on = forms.DateField(
        label=_("As known on"),
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": _("As known on: write the day as 2026-02-14.")},
    )

    def clean_on(self):
        # At the ends of the calendar no zone can say when a day ends.
        day = self.cleaned_data["on"]
        if day is not None and not 1900 <= day.year <= 2200:
            raise forms.ValidationError(_("As known on: write a day from 1900 to 2200, such as 2026-02-14."))
        return day

    def moment(self, build):
        """Return the last moment of that day on the builder's wall calendar, or None for now."""
        day = self.cleaned_data.get("on") if self.is_valid() else None
        return build.end_of(day) if day else None
