"""Where a photograph is cut, and what is drawn over it."""

from django import forms
from django.utils.translation import gettext_lazy as _

KINDS = [("number", _("number")), ("arrow", _("arrow")), ("ring", _("ring"))]
TEXT_LENGTH = 80


def _share(label):
    outside = {"min_value": _("from 0 to 100 in a hundred"), "max_value": _("from 0 to 100 in a hundred"),
               "invalid": _("a number from 0 to 100"), "required": _("a number from 0 to 100")}  # fmt: skip
    return forms.FloatField(
        label=label, min_value=0, max_value=100, error_messages=outside,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "size": 5, "autocomplete": "off"}),
    )  # fmt: skip


class CropForm(forms.Form):
    """The part to keep, in hundredths of what is shown now."""

    left = _share(_("Left"))
    top = _share(_("Top"))
    right = _share(_("Right"))
    bottom = _share(_("Bottom"))

    def clean(self):
        cleaned = super().clean()
        for less, more in (("left", "right"), ("top", "bottom")):
            if less in cleaned and more in cleaned and cleaned[more] - cleaned[less] < 5:
                self.add_error(more, _("at least five more than where it begins"))
        return cleaned


class MarkForm(forms.Form):
    """One mark; ``at.x`` and ``at.y`` are what a browser sends of a tap on the picture, in its pixels as shown."""

    kind = forms.ChoiceField(choices=KINDS, label=_("Mark"))
    text = forms.CharField(
        label=_("What it shows"), required=False, max_length=TEXT_LENGTH,
        error_messages={"max_length": _("At most %(limit_value)d letters; this has %(show_value)d.")},
    )  # fmt: skip
    to_x = forms.FloatField(required=False, min_value=0, max_value=1, widget=forms.HiddenInput)
    to_y = forms.FloatField(required=False, min_value=0, max_value=1, widget=forms.HiddenInput)
    x = forms.FloatField(required=False, min_value=0, max_value=1, widget=forms.HiddenInput)
    y = forms.FloatField(required=False, min_value=0, max_value=1, widget=forms.HiddenInput)
