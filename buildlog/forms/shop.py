"""Wood, purchases, supplies, and trials: strips bent, joints glued."""

import re
from decimal import Decimal, InvalidOperation

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planking.lengths import PlankingError

from .choices import choose_one
from .lengths import LengthField, read_typed, ruler_of

MOST_STRIPS = 20


class _RowForm(forms.Form):
    """A row that people edit: ``version`` is the one that was seen when the form was drawn."""

    version = forms.IntegerField(widget=forms.HiddenInput, required=False)

    def changes(self) -> dict:
        return {name: value for name, value in self.cleaned_data.items() if name != "version"}


def _text(label, most, *, required=False, help_text="", area=False):
    return forms.CharField(
        label=label, max_length=most, required=required, help_text=help_text,
        widget=forms.Textarea(attrs={"rows": 2}) if area else forms.TextInput(attrs={"autocomplete": "off"}),
        error_messages={
            "required": gettext_lazy("%(field)s: nothing was typed.") % {"field": label},
            "max_length": gettext_lazy("%(field)s: too long for its place.") % {"field": label},
        },
    )  # fmt: skip


class LotForm(_RowForm):
    name = _text(gettext_lazy("Name"), 40, required=True, help_text=gettext_lazy("As it is written on the wood: A."))
    species = _text(gettext_lazy("Wood"), 60)
    cut = forms.ChoiceField(
        label=gettext_lazy("Sawn"), required=False,
        choices=[("", gettext_lazy("not said")), ("flat", gettext_lazy("flat")), ("quarter", gettext_lazy("quarter"))],
        error_messages=choose_one(gettext_lazy("Sawn")),
    )
    humidity_percent = forms.IntegerField(
        label=gettext_lazy("Moisture, %"), required=False, min_value=0, max_value=100,
        error_messages={
            "invalid": gettext_lazy("Moisture: write a whole number from 0 to 100."),
            "min_value": gettext_lazy("Moisture: from 0 to 100."),
            "max_value": gettext_lazy("Moisture: from 0 to 100."),
        },
    )  # fmt: skip
    bought_from = _text(gettext_lazy("Where it is from"), 120)
    note = _text(gettext_lazy("Note"), 2000, area=True)

    def __init__(self, *args, build, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["thickness"] = LengthField(
            ruler=ruler_of(build), words=_("thickness of the lot"), required=False, label=_("Thickness"),
        )  # fmt: skip
        self.order_fields(["name", "species", "cut", "thickness"])

    def changes(self):
        changes = super().changes()
        thickness = changes.pop("thickness")
        return changes | {"thickness_nm": thickness.nm if thickness else None}


class PurchaseForm(_RowForm):
    bought_on = forms.DateField(
        label=gettext_lazy("Day"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={
            "required": gettext_lazy("Day: say when it was bought."),
            "invalid": gettext_lazy("Day: write it as 2026-02-14."),
        },
    )  # fmt: skip
    what = _text(gettext_lazy("What"), 120, required=True)
    price = forms.CharField(label=gettext_lazy("Price"), required=False, max_length=20)
    currency = forms.CharField(label=gettext_lazy("Currency"), required=False, max_length=3)
    lot = forms.ModelChoiceField(
        label=gettext_lazy("For the lot"), queryset=None, required=False, empty_label=gettext_lazy("none"),
        error_messages={"invalid_choice": gettext_lazy("For the lot: choose one of this build's.")},
    )

    def __init__(self, *args, build, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["lot"].queryset = build.lots.all()

    def clean_price(self):
        """A price with comma or point, in hundredths; nothing typed is no price."""
        text = self.cleaned_data["price"].strip().replace(" ", "").replace(",", ".")
        if not text:
            return None
        try:
            price = Decimal(text)
        except InvalidOperation:
            price = None
        if price is None or not price.is_finite() or not 0 <= price < 10_000_000 or price.as_tuple().exponent < -2:
            raise forms.ValidationError(_("Price: write it as 12.50."))
        return int(price * 100)

    def clean_currency(self):
        return self.cleaned_data["currency"].strip().upper()

    def changes(self):
        changes = super().changes()
        return changes | {"price_cents": changes.pop("price")}


class SupplyForm(_RowForm):
    name = _text(gettext_lazy("Name"), 80, required=True, help_text=gettext_lazy("Glue, blades, sandpaper."))
    opened_on = forms.DateField(
        label=gettext_lazy("Opened on"), required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": gettext_lazy("Opened on: write it as 2026-02-14.")},
    )
    low = forms.BooleanField(label=gettext_lazy("Running low"), required=False)
    note = _text(gettext_lazy("Note"), 300)

    def __init__(self, *args, build, **kwargs):
        super().__init__(*args, **kwargs)


class StripForm(forms.Form):
    """A strip bent as a trial."""

    species = _text(gettext_lazy("Wood"), 60, required=True)
    heat = _text(gettext_lazy("Heat"), 80, help_text=gettext_lazy("Dry iron, hot water, none."))
    soak = _text(gettext_lazy("Soak"), 80)
    note = _text(gettext_lazy("Note"), 300)

    def __init__(self, *args, build, **kwargs):
        super().__init__(*args, **kwargs)
        for name, words in (
            ("width", _("width of the strip")), ("thickness", _("thickness of the strip")),
            ("radius", _("tightest radius it took")),
        ):  # fmt: skip
            self.fields[name] = LengthField(ruler=ruler_of(build), words=words, label=words[:1].upper() + words[1:])
        self.order_fields(["species", "width", "thickness", "heat", "soak", "radius", "note"])

    def changes(self):
        lengths = {f"{name}_nm": self.cleaned_data[name].nm for name in ("width", "thickness", "radius")}
        return {name: self.cleaned_data[name] for name in ("species", "heat", "soak", "note")} | lengths


class JointForm(forms.Form):
    """Strips read one by one, then across them all once glued."""

    strips = _text(
        gettext_lazy("Each strip"), 200, required=True,
        help_text=gettext_lazy("Read before gluing, with spaces between: 4.98 5.01 5.00 4.99 5.02"),
    )  # fmt: skip
    instrument = forms.ModelChoiceField(
        label=gettext_lazy("Read with"), queryset=None, required=False, empty_label=gettext_lazy("not said"),
        error_messages={"invalid_choice": gettext_lazy("Read with: choose one of this build's instruments.")},
    )
    note = _text(gettext_lazy("Note"), 300, help_text=gettext_lazy("Which glue, how it was clamped."))

    def __init__(self, *args, build, instruments, **kwargs):
        super().__init__(*args, **kwargs)
        self.ruler = ruler_of(build)
        self.fields["instrument"].queryset = instruments
        self.fields["across"] = LengthField(
            ruler=self.ruler, words=_("width across them all"), label=_("Across them all, glued")
        )
        self.order_fields(["strips", "across", "instrument", "note"])

    def clean_strips(self) -> list[int]:
        parts = [part for part in re.split(r"[\s;]+", self.cleaned_data["strips"]) if part]
        if not 2 <= len(parts) <= MOST_STRIPS:
            raise forms.ValidationError(_("Each strip: between 2 and %(most)d widths.") % {"most": MOST_STRIPS})
        try:
            return [
                read_typed(part, words=_("strip %(number)d") % {"number": number}, ruler=self.ruler).nm
                for number, part in enumerate(parts, start=1)
            ]
        except PlankingError as refused:
            raise forms.ValidationError(str(refused)) from None


class WoodForm(forms.Form):
    """Which lot a strake was cut from."""

    lot = forms.ModelChoiceField(
        label=gettext_lazy("Wood lot"), queryset=None, required=False, empty_label=gettext_lazy("not said"),
        error_messages={"invalid_choice": gettext_lazy("Wood lot: choose one of this build's.")},
    )

    def __init__(self, *args, build, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["lot"].queryset = build.lots.all()
