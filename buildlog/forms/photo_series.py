"""The name of a series, and the next photograph of it."""

import uuid

from django import forms
from django.utils.translation import gettext_lazy as _

from .photo_notes import FilesField


class SeriesForm(forms.Form):
    name = forms.CharField(
        label=_("Seen from where"), max_length=80,
        help_text=_("From the bow, port quarter, from above with the rule beside it."),
        error_messages={"required": _("Give the place a name."),
                        "max_length": _("At most %(limit_value)d letters; this has %(show_value)d.")},
    )  # fmt: skip

    def clean_name(self):
        return " ".join(self.cleaned_data["name"].split())


class NextForm(forms.Form):
    batch = forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4)
    photos = FilesField(label=_("The next photograph"), required=False)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["photos"].widget.attrs["accept"] = "image/*"
