"""A share link: what it is called, how long it opens, what it shows."""

from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from django import forms
from django.utils.translation import gettext_lazy as _


class LinkForm(forms.Form):
    name = forms.CharField(
        label=_("Name"), max_length=80, help_text=_("Who it is for: the club, a friend, the table card."),
        error_messages={"required": _("Name: say who the link is for.")},
    )  # fmt: skip
    last_day = forms.DateField(
        label=_("Opens until"), required=False,
        help_text=_("The last day. Leave it empty and it opens until you revoke it."),
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": _("Opens until: write the day as 2026-05-20.")},
    )  # fmt: skip
    hull = forms.BooleanField(label=_("Shows the picture of the hull"), required=False, initial=True)
    numbers = forms.BooleanField(label=_("Shows the gap that is left, in figures"), required=False, initial=True)

    def __init__(self, *args, build, today, **kwargs):
        super().__init__(*args, **kwargs)
        self.build, self.today = build, today

    def clean_last_day(self):
        day = self.cleaned_data["last_day"]
        if day is not None and day < self.today:
            raise forms.ValidationError(_("Opens until: that day is past."))
        if day is not None and day.year > 2200:
            raise forms.ValidationError(_("Opens until: a link opens until 2200 at the longest."))
        return day

    @property
    def expires_at(self):
        """The first moment after the last day, on the builder's wall calendar."""
        day = self.cleaned_data["last_day"]
        if day is None:
            return None
        return datetime.combine(day + timedelta(days=1), time.min, tzinfo=ZoneInfo(self.build.time_zone))

    @property
    def shows(self) -> dict:
        return {"hull": self.cleaned_data["hull"], "numbers": self.cleaned_data["numbers"]}
