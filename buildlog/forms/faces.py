"""Which faces an opening's girths and widths were taken on, and how much they differ on a round."""

from django import forms
from django.utils.translation import gettext_lazy as _

from buildlog.models import Opening

from .gap_checks import GapCheckForm

_CHOICE = ("required", "invalid_choice")


class FacesForm(forms.Form):
    girth_taken = forms.ChoiceField(
        label=_("Girths and gaps are taken"), widget=forms.RadioSelect,
        choices=[
            (Opening.GirthTaken.BARE_FRAMES, _("on the bare frames")),
            (Opening.GirthTaken.OVER_PLANKING, _("over the planking")),
        ],
        error_messages=dict.fromkeys(
            _CHOICE, _("Say whether girths are taken on the bare frames or over the planking.")
        ),
    )  # fmt: skip
    widths_taken = forms.ChoiceField(
        label=_("Widths are read"), widget=forms.RadioSelect,
        choices=[
            (Opening.WidthsTaken.BEFORE_BEVEL, _("flat, before the edges are bevelled")),
            (Opening.WidthsTaken.AFTER_BEVEL, _("after the edges are bevelled")),
        ],
        error_messages=dict.fromkeys(
            _CHOICE, _("Say whether widths are read before or after the edges are bevelled.")
        ),
    )  # fmt: skip
    seen = forms.IntegerField(widget=forms.HiddenInput)


class FaceRadiusForm(GapCheckForm):
    """The radius of the bilge that the difference is shown on."""


def face_difference_mm(width_mm: float, thickness_mm: float, radius_mm: float) -> float:
    """Return how much wider the outer face of a plank is than its inner one on a round: width x thickness / radius."""
    return width_mm * thickness_mm / radius_mm
