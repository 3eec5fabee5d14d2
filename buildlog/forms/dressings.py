"""From where to where an edge was dressed."""

from django import forms
from django.utils.translation import gettext_lazy as _

_CHOICE = ("required", "invalid_choice")


class DressingForm(forms.Form):
    """Two stations of the strake, in either order, and a word on why."""

    from_station = forms.ChoiceField(
        label=_("From"), error_messages=dict.fromkeys(_CHOICE, _("From: choose one of the strake's stations."))
    )
    to_station = forms.ChoiceField(
        label=_("To"), error_messages=dict.fromkeys(_CHOICE, _("To: choose one of the strake's stations."))
    )
    note = forms.CharField(
        label=_("Why"), required=False, max_length=300, widget=forms.TextInput(attrs={"autocomplete": "off"}),
        error_messages={"max_length": _("Why: at most %(limit_value)d letters; this has %(show_value)d.")},
    )  # fmt: skip

    def __init__(self, data=None, *, stations):
        self.by_uuid = {str(station.uuid): station for station in stations}
        ends = {"from_station": stations[0].uuid, "to_station": stations[-1].uuid} if stations else {}
        super().__init__(data, initial=ends)
        for name in ("from_station", "to_station"):
            self.fields[name].choices = [(str(station.uuid), station.name) for station in stations]

    def station(self, name):
        return self.by_uuid[self.cleaned_data[name]]
