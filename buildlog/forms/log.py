"""Words to find in the log."""

from django import forms
from django.utils.translation import gettext_lazy as _


class SearchForm(forms.Form):
    words = forms.CharField(label=_("Find"), required=False, max_length=100)

    def clean_words(self):
        return self.cleaned_data["words"].strip()
