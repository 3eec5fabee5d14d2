"""What the bench sends with one tap."""

from django import forms
from django.utils.translation import gettext_lazy as _


class NotNowForm(forms.Form):
    fingerprint = forms.RegexField(
        r"^[0-9a-f]{64}$", error_messages={"invalid": _("This warning is not known.")}
    )


class UndoForm(forms.Form):
    """``thing`` names what is to be undone, so that a double tap undoes one thing once."""

    thing = forms.CharField(max_length=60)
