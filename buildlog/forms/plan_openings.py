"""Seam, limits and stock of an opening as they are typed; limits in percent of a strake's width."""

from decimal import Decimal

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from planking.lengths import from_nm, show_mm

from .lengths import LengthField

# Percent of the width: least and most that mean anything.
BOUNDS = {"step": (1, 50), "closing": (1, 100), "narrow": (1, 100), "wide": (100, 500)}


class LimitsForm(forms.Form):
    seen = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, data=None, *, ruler, full_nm=None, **kwargs):
        super().__init__(data, **kwargs)
        self.fields["seam"] = LengthField(
            ruler=ruler, words=_("planned seam"), allow_zero=True,
            help_text=_("What is left for glue and caulking between two strakes; 0 where nothing is."),
        )  # fmt: skip
        words = {
            "step": (_("Step, %"), _("More than this off its plan, and a strake is told to be changed.")),
            "closing": (_("Closing strake, %"), _("What the last strake may take before the plan must change.")),
            "narrow": (_("Narrowest, %"), _("Of the strake's own widest. Under half, a drop strake keeps the width.")),
            "wide": (_("Widest, %"), _("Of the full width. Over one and a half, a stealer comes in.")),
        }
        for name, (label, help_text) in words.items():
            self.fields[name] = _PercentField(label, help_text, *BOUNDS[name])
        self.fields["stock"] = LengthField(
            ruler=ruler, words=_("stock width"), required=False,
            help_text=_("The widest plank the wood in hand gives. It counts at once, for every plan."),
        )  # fmt: skip
        self.full_nm = full_nm

    def in_mm(self, name: str) -> str:
        """Return what a percentage comes to at the full width, for the sentence beside the field."""
        value = self.initial.get(name)
        if not self.full_nm or value is None:
            return ""
        return show_mm(from_nm(int(self.full_nm * Decimal(str(value)) / 100)))

    def rows(self) -> list[dict]:
        """Return each field with what it comes to in mm, in the order they stand."""
        names = ["seam", "step", "closing", "narrow", "wide", "stock"]
        return [{"field": self[name], "mm": self.in_mm(name) if name in BOUNDS else ""} for name in names]

    @property
    def limits(self) -> dict:
        return {f"{name}_permille": int(self.cleaned_data[name] * 10) for name in BOUNDS}


class _PercentField(forms.CharField):
    """A percentage with at most one decimal, point or comma; no float on the way."""

    def __init__(self, label, help_text, least, most):
        super().__init__(label=label, help_text=help_text)
        self.least, self.most = least, most
        self.widget.attrs.update({"inputmode": "decimal", "autocomplete": "off"})
        self.error_messages["required"] = _("%(field)s: nothing was typed.") % {"field": label}

    def clean(self, value):
        text = super().clean(value).replace(",", ".").removesuffix("%").strip()
        whole, _point, part = text.partition(".")
        plain = whole.isascii() and whole.isdecimal() and len(whole) <= 3 and len(part) <= 1
        if not plain or (part and not (part.isascii() and part.isdecimal())):
            raise ValidationError(
                _('%(field)s: "%(text)s" is not read; write a percentage such as 4 or 7.5.')
                % {"field": self.label, "text": value}
            )
        number = Decimal(text.rstrip("."))
        if not self.least <= number <= self.most:
            raise ValidationError(
                _("%(field)s: must be from %(least)d to %(most)d.")
                % {"field": self.label, "least": self.least, "most": self.most}
            )
        return number
