"""What is said of a draft: its reason, and the photograph where it was agreed by eye."""

from zoneinfo import ZoneInfo

from django import forms
from django.utils.formats import date_format
from django.utils.translation import gettext_lazy as _

# With fewer words and no photograph nobody knows later what the eye agreed to.
FEWEST_WORDS = 5


def _photo_words(photo, build) -> str:
    """Several photographs of one day are told apart by their words and the hour they came in."""
    came = photo.received_at.astimezone(ZoneInfo(build.time_zone))
    when = f"{date_format(came, 'j F Y')}, {came:%H:%M}"
    name = photo.caption or photo.file_name
    return f"{name}, {when}" if name else when


class ReasonForm(forms.Form):
    """``version`` is the draft as it was seen when the form was drawn."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    reason = forms.CharField(
        label=_("Why the plan changes"), max_length=1000, widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={
            "required": _("Why the plan changes: write a few words, so that it is known later."),
            "max_length": _("Why the plan changes: at most %(limit_value)d letters; this has %(show_value)d."),
        },
    )  # fmt: skip
    accepted_by_eye = forms.BooleanField(
        label=_("Accepted by eye"), required=False,
        help_text=_("The figures said otherwise and the eye was pleased. What is cut to it from then on is no fault."),
    )
    photo = forms.ModelChoiceField(
        label=_("The photograph that shows it"), queryset=None, required=False,
        empty_label=_("there is none, and the reason says what was seen"),
        to_field_name="uuid",
        error_messages={"invalid_choice": _("The photograph that shows it: choose one of this build's.")},
    )

    def __init__(self, *args, build, **kwargs):
        super().__init__(*args, **kwargs)
        photos = build.photos.filter(state="ready", taken_out_at__isnull=True).order_by("-pk")
        self.fields["photo"].queryset = photos
        self.fields["photo"].label_from_instance = lambda photo: _photo_words(photo, build)

    def clean(self):
        """Without a photograph the words alone have to say what the eye agreed to."""
        cleaned = super().clean()
        words = cleaned.get("reason", "")
        if cleaned.get("accepted_by_eye") and not cleaned.get("photo") and len(words.split()) < FEWEST_WORDS:
            self.add_error("reason", _("Why the plan changes: with no photograph, say what was seen, in a sentence."))
        return cleaned


class SendBackForm(forms.Form):
    version = forms.IntegerField(widget=forms.HiddenInput)
    words = forms.CharField(
        label=_("What to change"), max_length=1000, required=False, widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"max_length": _("What to change: at most %(limit_value)d letters; this has %(show_value)d.")},
    )  # fmt: skip


class VersionForm(forms.Form):
    version = forms.IntegerField(widget=forms.HiddenInput)
