"""What a session says of itself."""

from django import forms
from django.utils.translation import gettext_lazy as _

from buildlog.models import Session, Side3

KINDS = {
    "lining off": _("lining off"), "spiling": _("spiling"), "cutting": _("cutting"), "bending": _("bending"),
    "fitting": _("fitting"), "gluing": _("gluing"), "fastening": _("fastening"), "measuring": _("measuring"),
    "sanding": _("sanding"), "planning": _("planning"),
}  # fmt: skip


class SessionForm(forms.Form):
    """The words and figures of a session. ``version`` is the one that was seen when the form was drawn."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    side = forms.ChoiceField(
        label=_("Side"), required=False,
        error_messages={"invalid_choice": _("Side has to be port, starboard or both.")},
    )  # fmt: skip
    minutes = forms.IntegerField(
        label=_("Minutes"), required=False, min_value=1, max_value=24 * 60,
        error_messages={
            "invalid": _("Minutes: write whole minutes, such as 75."),
            "min_value": _("Minutes: at least 1, or leave it empty."),
            "max_value": _("Minutes: a session has 1440 at most, which is a day."),
        },
    )  # fmt: skip
    humidity_percent = forms.IntegerField(
        label=_("Humidity, %"), required=False, min_value=0, max_value=100,
        error_messages={
            "invalid": _("Humidity: write a whole number from 0 to 100."),
            "min_value": _("Humidity: from 0 to 100."), "max_value": _("Humidity: from 0 to 100."),
        },
    )  # fmt: skip
    kinds = forms.MultipleChoiceField(
        label=_("Kinds of work"), required=False, widget=forms.CheckboxSelectMultiple,
        choices=[(kind, KINDS[kind]) for kind in Session.KINDS],
        error_messages={"invalid_choice": _("Kinds of work: choose from the list.")},
    )  # fmt: skip
    note = forms.CharField(label=_("Note"), required=False, widget=forms.Textarea)
    next_note = forms.CharField(
        label=_("To myself, for next time"), required=False, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args, sides=tuple(Side3.values), **kwargs):
        """``sides`` are those that the build has; a half model has one."""
        super().__init__(*args, **kwargs)
        self.fields["side"].choices = [("", _("not said")), *((side, Side3(side).label) for side in sides)]

    FIELDS = ("side", "minutes", "humidity_percent", "kinds", "note", "next_note")

    def changes(self) -> dict:
        return {name: self.cleaned_data[name] for name in self.FIELDS}
