"""One photograph's words and marks, and those of many at once."""

from django import forms
from django.utils.translation import gettext_lazy as _

from .choices import name_choices

CAPTION_LENGTH = 300
_SIDES = {"port": _("Port"), "starboard": _("Starboard")}
BY_DATE = "by-date"


def _words(label, help_text=""):
    too_long = {"max_length": _("At most %(limit_value)d letters; this has %(show_value)d.")}
    return forms.CharField(
        label=label, required=False, max_length=CAPTION_LENGTH, help_text=help_text, error_messages=too_long
    )


class Several(forms.MultipleChoiceField):
    """Any number of choices; the empty one of a list means none."""

    def to_python(self, value):
        return [one for one in super().to_python(value) if one]


class _Chosen(forms.Form):
    """What photographs may be marked with. Choices are (uuid, words) of this build, so others are refused."""

    strakes = Several(label=_("Strake"), required=False)
    stations = Several(label=_("Station"), required=False)
    side = forms.ChoiceField(label=_("Side, where no strake says it"), required=False)
    session = forms.ChoiceField(label=_("Session"), required=False)
    series = forms.ChoiceField(label=_("Series from one place"), required=False)
    caption = _words(_("In a few words"))

    def __init__(self, *args, sides=tuple(_SIDES), strakes=(), stations=(), sessions=(), series=(), **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["side"].choices = [("", _("neither")), *((side, _SIDES[side]) for side in sides)]
        self.fields["strakes"].choices = list(strakes)
        self.fields["stations"].choices = list(stations)
        self.fields["session"].choices = list(sessions)
        self.fields["series"].choices = list(series)
        name_choices(self)

    def clean_caption(self):
        return " ".join(self.cleaned_data["caption"].split())


class PhotoForm(_Chosen):
    version = forms.IntegerField(widget=forms.HiddenInput, min_value=1)
    alt = _words(_("For those who cannot see it"))
    # What the page offered, so that words nobody changed are renewed with the marks.
    offered = forms.CharField(widget=forms.HiddenInput, required=False, strip=False)

    field_order = ["version", "caption", "strakes", "stations", "side", "session", "series", "alt", "offered"]

    def clean_alt(self):
        return " ".join(self.cleaned_data["alt"].split())


class LabelForm(_Chosen):
    """Labels for many; empty means that each keeps its own."""

    def clean(self):
        cleaned = super().clean()
        if not self.errors and not any(cleaned.get(name) for name in
                                       ("strakes", "stations", "side", "session", "series", "caption")):
            raise forms.ValidationError(_("Choose a strake, a station, a session or a few words to label them with."))
        return cleaned
