"""A belt of a draft as it is told: its name, its strakes from one to another, its batten line."""

from django import forms
from django.utils.translation import gettext as _

from buildlog.models import PlanBelt

from .choices import name_choices


class BeltForm(forms.Form):
    name = forms.CharField(max_length=40)
    first = forms.ChoiceField(choices=[])
    last = forms.ChoiceField(choices=[])
    at_line = forms.ChoiceField(choices=[], widget=forms.RadioSelect)
    seen = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, data=None, *, strakes, **kwargs):
        super().__init__(data, **kwargs)
        labels = [(str(s.plan.strake.uuid), s.label) for s in strakes]
        named = {"name": _("Name"), "first": _("From strake, keel side"), "last": _("To strake, wale side"),
                 "at_line": _("At its batten line")}  # fmt: skip
        for name, label in named.items():
            self.fields[name].label = label
        self.fields["first"].choices = self.fields["last"].choices = labels
        self.fields["at_line"].choices = [
            (PlanBelt.AtLine.CARRY, _("carry: what a strake is wide or narrow goes on to the next belt")),
            (PlanBelt.AtLine.HOLD, _("hold: the last strake is made to the line, so the next belt starts afresh")),
        ]
        self.fields["name"].error_messages |= {
            "required": _("Name: nothing was typed."),
            "max_length": _("Name: write it in 40 characters or fewer."),
        }
        for name in ("first", "last", "at_line"):
            self.fields[name].error_messages["required"] = _("%(field)s: choose one.") % {"field": named[name]}
        name_choices(self)
