"""A saved build, sent in to be taken in."""

from django import forms
from django.conf import settings
from django.utils.translation import gettext_lazy as _


class SendInForm(forms.Form):
    file = forms.FileField(
        label=_("A saved build"),
        widget=forms.FileInput(attrs={"accept": ".zip,application/zip"}),
        error_messages={
            "required": _("A saved build: choose the file, a ZIP that “Save this build to a file” made."),
            "empty": _("A saved build: this file is empty."),
        },
    )
    name = forms.CharField(
        label=_("Your name in this build"), required=False, max_length=80,
        help_text=_("If you are one of its people, as the name stands there. Otherwise you are added."),
    )  # fmt: skip
    as_copy = forms.BooleanField(
        label=_("Take it in as a copy, also where the same build is here already"), required=False
    )

    def clean_file(self):
        file = self.cleaned_data["file"]
        if file.size > settings.PHOTO_BYTES:
            size, most = file.size / 1024 / 1024, settings.PHOTO_BYTES / 1024 / 1024
            too_large = _(
                "A saved build: this one has %(size).0f MB, and a page takes %(most).0f. "
                "The command import_build takes any size."
            )
            raise forms.ValidationError(too_large % {"size": size, "most": most})
        head = file.read(4)
        file.seek(0)
        if head != b"PK\x03\x04":
            raise forms.ValidationError(
                _("A saved build: this is not a ZIP file. Choose the one that was carried away.")
            )
        return file
