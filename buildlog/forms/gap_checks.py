"""Which gap check to show, and the round of the bilge that caliper jaws would have to span."""

from django import forms
from django.utils.translation import gettext_lazy as _

from .gaps import BILGE_RADIUS_MM


class GapCheckForm(forms.Form):
    bilge = forms.DecimalField(
        label=_("Radius of the bilge, mm"), min_value=1, max_value=1000, decimal_places=1, required=False,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "class": "input"}), localize=False,
        error_messages={
            "invalid": _("Radius of the bilge: write it in mm, for instance 30."),
            "min_value": _("Radius of the bilge: from 1 to 1000 mm."),
            "max_value": _("Radius of the bilge: from 1 to 1000 mm."),
            "max_decimal_places": _("Radius of the bilge: one place after the point is enough."),
        },
    )  # fmt: skip

    @property
    def radius_mm(self) -> float:
        """Return the radius that was asked for, else a common one."""
        typed = self.cleaned_data.get("bilge") if self.is_valid() else None
        return float(typed) if typed else BILGE_RADIUS_MM
