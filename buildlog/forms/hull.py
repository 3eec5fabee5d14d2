"""Which day the hull is to be shown as of."""

from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from django import forms
from django.utils.translation import gettext_lazy as _


class KnownOnForm(forms.Form):
    on = forms.DateField(
        label=_("As known on"),
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": _("As known on: write the day as 2026-02-14.")},
    )

    def moment(self, build):
        """Return the last moment of that day on the builder's wall calendar, or None for now."""
        day = self.cleaned_data.get("on") if self.is_valid() else None
        if day is None:
            return None
        end = datetime.combine(day, time.min, tzinfo=ZoneInfo(build.time_zone)) + timedelta(days=1)
        return end - timedelta(microseconds=1)
