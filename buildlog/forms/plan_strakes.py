"""A strake of a draft as it is told: label, kind, belt, the stretches of frames it covers, its butts."""

import re
from itertools import pairwise

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from buildlog.models import PlanStrake

from .choices import name_choices

_BETWEEN = re.compile(r"^(.+?)\s*(?:\bto\b|…|\.\.\.?|–|—|\s-\s)\s*(.+)$", re.IGNORECASE)
_MOST_STRETCHES = 20


def spans_in_words(spans, frames) -> str:
    """Return the stretches as they are typed: one a line, by the names of their frames."""
    names = {frame.number: str(frame) for frame in frames}
    return "\n".join(
        _("%(first)s to %(last)s") % {"first": names.get(a, a), "last": names.get(b, b)} for a, b in spans
    )


def read_spans(text: str, frames) -> list[list[int]]:
    """Return stretches of frame numbers, forward to aft; empty text is from end to end.

    Raises ValidationError naming the stretch that cannot be read, or the two that overlap.
    """
    found: list[tuple[int, int, str]] = []
    pieces = [piece.strip() for piece in re.split(r"[\n,;]", text) if piece.strip()]
    if len(pieces) > _MOST_STRETCHES:
        raise ValidationError(_("Stretches: no strake has more than %(n)d.") % {"n": _MOST_STRETCHES})
    for piece in pieces:
        between = _BETWEEN.match(piece)
        if not between:
            raise ValidationError(
                _('Stretches: "%(piece)s" is not read; write from which frame to which, such as 12 to 18.')
                % {"piece": piece}
            )
        ends = sorted(_frame(one.strip(), frames) for one in between.groups())
        found.append((*ends, piece))
    found.sort()
    for one, other in pairwise(found):
        # Two stretches that share a frame are one, or one of them is a slip.
        if other[0] <= one[1]:
            raise ValidationError(
                _('Stretches: "%(one)s" and "%(other)s" overlap.') % {"one": one[2], "other": other[2]}
            )
    return [[first, last] for first, last, _piece in found]


def butts_in_words(butts, frames) -> str:
    names = {frame.number: str(frame) for frame in frames}
    return ", ".join(names.get(number, str(number)) for number in butts)


def read_butts(text: str, spans, frames) -> list[int]:
    """Return the frames that planks meet on, forward to aft; a butt has wood behind it, so it is on a frame.

    Raises ValidationError naming the butt that is on none, at an end, or told twice.
    """
    if not frames and text.strip():
        raise ValidationError(_("Butts: this build has no frames yet, and a butt stands on one."))
    stretches = spans or [[frames[0].number, frames[-1].number]] if frames else []
    found: list[int] = []
    for piece in (one.strip() for one in re.split(r"[\n,;]", text) if one.strip()):
        try:
            number = _frame(piece, frames)
        except ValidationError:
            raise ValidationError(
                _('Butts: there is no frame "%(piece)s". A butt needs a frame behind it to be fastened to; they go '
                  "from %(first)s to %(last)s.") % {"piece": piece, "first": frames[0], "last": frames[-1]}
            ) from None  # fmt: skip
        if not any(first < number < last for first, last in stretches):
            raise ValidationError(_("Butts: at %(piece)s the strake ends or does not run.") % {"piece": piece})
        if number in found:
            raise ValidationError(_("Butts: %(piece)s is told twice.") % {"piece": piece})
        found.append(number)
    return sorted(found)


def _frame(text: str, frames) -> int:
    plain = text.replace("−", "-")
    for frame in frames:
        if text.casefold() == frame.name.casefold() or plain == str(frame.number):
            return frame.number
    if not frames:
        raise ValidationError(_("Stretches: this build has no frames yet, so a strake runs from end to end."))
    raise ValidationError(
        _('Stretches: there is no frame "%(text)s"; they go from %(first)s to %(last)s.')
        % {"text": text, "first": frames[0], "last": frames[-1]}
    )


class StrakeForm(forms.Form):
    label = forms.CharField(max_length=12)
    kind = forms.ChoiceField(choices=[], widget=forms.RadioSelect)
    spans = forms.CharField(required=False, widget=forms.Textarea(attrs={"rows": 3}), max_length=600)
    belt = forms.ChoiceField(required=False, choices=[])
    butts = forms.CharField(required=False, max_length=200)
    joins = forms.CharField(required=False, max_length=40)
    seen = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, data=None, *, frames, belts, **kwargs):
        super().__init__(data, **kwargs)
        self.frames, self.belts = frames, {str(belt.uuid): belt for belt in belts}
        named = {
            "label": (_("Label"), _("Yours: 18, 5a, C.")),
            "kind": (_("Kind"), ""),
            "spans": (
                _("Stretches"),
                _("From frame to frame, one stretch a line, such as 12 to 18. Empty: from end to end."),
            ),
            "belt": (_("Belt"), ""),
            "butts": (_("Butts"), _(
                "The frames that its planks meet on, such as 6, 14: counted from dead flat, those forward of it with a "
                "minus. Empty: one length."
            )),
            "joins": (_("Joins"), _("How they meet: square, hooked, scarphed 8:1.")),
        }
        for name, (label, help_text) in named.items():
            self.fields[name].label, self.fields[name].help_text = label, help_text
        self.fields["label"].error_messages |= {
            "required": _("Label: nothing was typed."),
            "max_length": _("Label: write it in 12 characters or fewer."),
        }
        self.fields["joins"].error_messages["max_length"] = _("Joins: write it in 40 characters or fewer.")
        self.fields["butts"].error_messages["max_length"] = _("Butts: write them in 200 characters or fewer.")
        self.fields["kind"].error_messages["required"] = _("Kind: choose one.")
        self.fields["kind"].choices = [
            (PlanStrake.Kind.FULL, _("full")), (PlanStrake.Kind.DROP, _("drop strake")),
            (PlanStrake.Kind.STEALER, _("stealer")),
        ]  # fmt: skip
        self.fields["belt"].choices = [("", _("none")), *((uuid, belt.name) for uuid, belt in self.belts.items())]
        name_choices(self)

    def clean_label(self):
        label = " ".join(self.cleaned_data["label"].split())
        if not label.isprintable():
            raise ValidationError(_("Label: it holds a sign that cannot be seen. Type it again."))
        return label

    def clean_spans(self):
        return read_spans(self.cleaned_data["spans"], self.frames)

    def clean(self):
        cleaned = super().clean()
        short = cleaned.get("kind") in (PlanStrake.Kind.DROP, PlanStrake.Kind.STEALER)
        if short and "spans" in cleaned and not cleaned["spans"]:
            sentence = _("Stretches: a drop strake or a stealer ends short; tell from which frame to which.")
            self.add_error("spans", sentence)
        if "spans" in cleaned and "butts" in cleaned:
            try:
                cleaned["butts"] = read_butts(cleaned["butts"], cleaned["spans"], self.frames)
            except ValidationError as why:
                self.add_error("butts", why)
        return cleaned

    @property
    def told(self) -> dict:
        """Return what the actions take, by their names."""
        told = self.cleaned_data
        return {
            "label": told["label"], "kind": told["kind"], "spans": told["spans"],
            "belt": self.belts.get(told["belt"]), "butts": told["butts"], "joins": " ".join(told["joins"].split()),
        }  # fmt: skip


class NewStrakeForm(StrakeForm):
    beside = forms.ChoiceField(required=False, choices=[])
    towards = forms.ChoiceField(choices=[], widget=forms.RadioSelect, initial="wale")
    field_order = ["beside", "towards", "label", "kind", "spans", "belt", "butts", "joins", "seen"]

    def __init__(self, data=None, *, strakes, **kwargs):
        super().__init__(data, **kwargs)
        self.fields["beside"].label, self.fields["towards"].label = _("Beside strake"), _("On its")
        self.fields["beside"].choices = [(str(s.plan.strake.uuid), s.label) for s in reversed(strakes)]
        self.fields["towards"].choices = [("wale", _("wale side")), ("keel", _("keel side"))]
        self.fields["beside"].required = bool(strakes)
        self.fields["beside"].error_messages |= {"required": _("Beside: choose a strake."),
            "invalid_choice": _("Beside: this strake is not in the draft any more.")}  # fmt: skip
        self.fields["towards"].error_messages["required"] = _("On its: choose wale side or keel side.")
        name_choices(self)
