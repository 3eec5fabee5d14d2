"""What the first run asks about a build: its name, its scale, its sides."""

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from buildlog.models import Build, Side3
from planking.lengths import PlankingError, read_scale


class VersionedForm(forms.Form):
    """A form that knows which version of its row it was opened on."""

    version = forms.IntegerField(
        min_value=1,
        widget=forms.HiddenInput,
        error_messages={
            "required": _("This page was opened in an unusual way. Load it again."),
            "invalid": _("This page was opened in an unusual way. Load it again."),
        },
    )


class NameForm(forms.Form):
    name = forms.CharField(
        label=_("Name of the model"),
        max_length=80,
        error_messages={
            "required": _("Name of the model: nothing was typed."),
            "max_length": _("Name of the model: 80 characters at most."),
        },
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    kind = forms.ChoiceField(
        label=_("What will you log?"),
        choices=[("planking", _("planking and photographs")), ("photographs", _("photographs only"))],
        initial="planking",
        widget=forms.RadioSelect,
        error_messages={
            "required": _("What will you log: choose one of the two."),
            "invalid_choice": _("What will you log: choose one of the two."),
        },
    )

    def clean_name(self):
        name = " ".join(self.cleaned_data["name"].split())
        if not name.isprintable():
            raise ValidationError(
                _("Name of the model: it holds a character that cannot be seen. Type it anew.")
            )
        return name

    @property
    def photographs_only(self) -> bool:
        return self.cleaned_data["kind"] == "photographs"


class StartForm(NameForm):
    """The uuid is made with the page, so that a double tap starts one build."""

    build_uuid = forms.UUIDField(
        widget=forms.HiddenInput,
        error_messages={
            "required": _("This page was opened in an unusual way. Load it again."),
            "invalid": _("This page was opened in an unusual way. Load it again."),
        },
    )


class RenameForm(NameForm, VersionedForm):
    pass


class ScaleForm(VersionedForm):
    scale = forms.CharField(
        label=_("Scale"),
        required=False,
        help_text=_("1:48, or 1/4 in = 1 ft. Without it, widths are shown on the model only."),
        widget=forms.TextInput(attrs={"autocomplete": "off", "class": "figure", "placeholder": "1:48"}),
    )
    reading_unit = forms.ChoiceField(
        label=_("What does your caliper read?"),
        choices=[
            (Build.ReadingUnit.MM, _("mm (4.76)")),
            (Build.ReadingUnit.INCH, _("inches (0.188)")),
            (Build.ReadingUnit.SIXTY_FOURTHS, _("64ths of an inch (12/64)")),
        ],
        widget=forms.RadioSelect,
        error_messages={
            "required": _("What your caliper reads: choose one of the three."),
            "invalid_choice": _("What your caliper reads: choose one of the three."),
        },
    )

    def clean_scale(self):
        text = self.cleaned_data["scale"]
        if not text:
            return None
        try:
            return read_scale(text)
        except PlankingError as refused:
            raise ValidationError(refused.sentence) from None


class SidesForm(VersionedForm):
    sides = forms.ChoiceField(
        label=_("Which sides do you plank?"),
        choices=[
            (Side3.BOTH, _("both")),
            (Side3.PORT, _("port only")),
            (Side3.STARBOARD, _("starboard only")),
        ],
        widget=forms.RadioSelect,
        error_messages={
            "required": _("Sides: choose one."),
            "invalid_choice": _("Sides: choose one of the three."),
        },
    )
    layer = forms.ChoiceField(
        label=_("Which layer?"),
        choices=[
            ("single", _("single planked: one layer")),
            ("first", _("double planked: the first layer, on bulkheads")),
            ("second", _("double planked: the second layer, over the first")),
        ],
        widget=forms.RadioSelect,
        error_messages={
            "required": _("Layer: choose one."),
            "invalid_choice": _("Layer: choose one of the three."),
        },
    )
    runs = forms.ChoiceField(
        label=_("Which way do you hang?"),
        choices=[
            ("both", _("from the wale and from the keel, closing between")),
            ("wale", _("from the wale only, closing at the keel")),
            ("keel", _("from the keel only, closing at the wale")),
        ],
        widget=forms.RadioSelect,
        error_messages={
            "required": _("Which way: choose one."),
            "invalid_choice": _("Which way: choose one of three."),
        },
    )

    @property
    def layers(self) -> int:
        return 1 if self.cleaned_data["layer"] == "single" else 2

    @property
    def layer_number(self) -> int:
        return 2 if self.cleaned_data["layer"] == "second" else 1
