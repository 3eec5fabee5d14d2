"""An instrument of the register, and what it read with its jaws shut."""

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from buildlog.models import Build, Instrument

from .choices import name_choices
from .lengths import LengthField, read_typed, ruler_of


class InstrumentForm(forms.Form):
    name = forms.CharField(
        label=gettext_lazy("Name"), max_length=40, help_text=gettext_lazy("As it is called at the bench: Caliper A."),
        error_messages={"required": gettext_lazy("Name: nothing was typed.")},
    )  # fmt: skip
    kind = forms.ChoiceField(label=gettext_lazy("What it is"), choices=Instrument.Kind.choices)
    reading_unit = forms.ChoiceField(
        label=gettext_lazy("It reads"),
        choices=[("mm", "mm"), ("in", gettext_lazy("decimal inch")), ("64ths", "1/64 in")],
    )
    owner = forms.ModelChoiceField(label=gettext_lazy("Whose"), queryset=None, required=False)

    def __init__(self, *args, build: Build, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["owner"].queryset = build.people.all()
        self.fields["reading_unit"].initial = build.reading_unit
        name_choices(self)
        self.fields["u"] = LengthField(
            ruler=ruler_of(build), words=_("doubt of one reading"), required=False, label=_("Doubt of one reading"),
            help_text=_("How far two readings of the same strip differ, about. Left empty, the usual for its kind."),
        )  # fmt: skip

    def clean_u(self):
        length = self.cleaned_data.get("u")
        if length is not None and not 0 < length.nm <= 5_000_000:
            raise forms.ValidationError(_("Doubt of one reading: between 0 and 5 mm."))
        return length


class ZeroCheckForm(forms.Form):
    """What it reads with the jaws wiped and shut. The sign is its own field, since pads have no minus."""

    sign = forms.ChoiceField(
        label=gettext_lazy("It reads"),
        choices=[("over", gettext_lazy("over nought")), ("under", gettext_lazy("under nought"))],
        initial="over", widget=forms.RadioSelect,
    )  # fmt: skip
    note = forms.CharField(label=gettext_lazy("Note"), required=False, max_length=300)

    def __init__(self, *args, build, **kwargs):
        super().__init__(*args, **kwargs)
        self.build = build
        self.fields["offset"] = forms.CharField(
            label=_("Reading, jaws shut"), max_length=40, help_text=_("0 where it is shut on nought."),
            error_messages={"required": _("Reading, jaws shut: nothing was typed.")},
        )  # fmt: skip
        self.order_fields(["offset", "sign", "note"])
        name_choices(self)

    def clean_offset(self):
        from planking.lengths import PlankingError

        try:
            length = read_typed(
                self.cleaned_data["offset"], words=_("reading, jaws shut"), ruler=ruler_of(self.build), allow_zero=True
            )
        except PlankingError as refused:
            raise forms.ValidationError(refused.sentence) from None
        if length.nm > 2_000_000:
            raise forms.ValidationError(
                _("Reading, jaws shut: more than 2 mm is no zero. Wipe the jaws and look again.")
            )
        return length

    @property
    def offset_nm(self) -> int:
        nm = self.cleaned_data["offset"].nm
        return -nm if self.cleaned_data["sign"] == "under" else nm


class NoteForm(forms.Form):
    note = forms.CharField(label=gettext_lazy("What happened"), required=False, max_length=300)


class CorrectionForm(forms.Form):
    reason = forms.CharField(
        label=gettext_lazy("Why"), max_length=300, error_messages={"required": gettext_lazy("Why: say what was off.")}
    )
