"""Photo + note: photographs many at once, and words, on one page."""

from django import forms
from django.utils.translation import gettext_lazy as _

CAPTION_LENGTH = 300


class SeveralFiles(forms.ClearableFileInput):
    allow_multiple_selected = True


class FilesField(forms.FileField):
    """Any number of files; each is judged by itself where it is received, so that one bad file holds up none."""

    widget = SeveralFiles

    def clean(self, data, initial=None):
        files = data if isinstance(data, (list, tuple)) else [data]
        return [file for file in files if file]


class PhotoNoteForm(forms.Form):
    batch = forms.UUIDField(widget=forms.HiddenInput)
    photos = FilesField(label=_("Photographs"), required=False)
    strake = forms.UUIDField(
        required=False, widget=forms.Select, label=_("They show"),
        error_messages={"invalid": _("They show: choose a strake of the plan in force.")},
    )  # fmt: skip
    caption = forms.CharField(
        label=_("In a few words"), required=False, max_length=CAPTION_LENGTH,
        error_messages={"max_length": _("In a few words: at most %(limit_value)d letters; this has %(show_value)d.")},
    )  # fmt: skip
    note = forms.CharField(label=_("Note"), required=False, widget=forms.Textarea(attrs={"rows": 3}))
    next_note = forms.CharField(
        label=_("To myself, for next time"), required=False, widget=forms.TextInput(attrs={"maxlength": 1000})
    )
    # How many photographs the page's own script has already sent one by one; only said back.
    sent = forms.IntegerField(required=False, min_value=0, max_value=999, widget=forms.HiddenInput)

    def __init__(self, *args, strakes=(), **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["strake"].widget.choices = [("", _("no strake of their own")), *strakes]
        self.fields["photos"].widget.attrs["accept"] = "image/*"
