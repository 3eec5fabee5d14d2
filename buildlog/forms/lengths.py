"""Lengths as people type them: one field, one ruler a build, and the question when a figure looks odd.

    class WidthsForm(AskingForm):
        def __init__(self, *args, ruler, **kwargs):
            super().__init__(*args, **kwargs)
            self.fields["at_m"] = LengthField(ruler=ruler, words=_("width at M"), expected_nm=4_410_000)

A valid field cleans to ``planking.lengths.Length`` (``.nm``, ``.typed``, ``.unit``, ``.size``), or None where
it may stay empty. An odd figure is refused with a question (``form.questions[name]``); it is taken when the
form comes back with one of the answers, or with a reason to keep it (``form.kept_reasons[name]``).
templates/parts/_length.html draws a field with its question.
"""

import re
from dataclasses import dataclass, field, replace
from fractions import Fraction

from django import forms
from django.core.exceptions import ValidationError
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from planking.lengths import (
    Length,
    PlankingError,
    Scale,
    from_nm,
    likely_other_unit,
    read_length,
    show_mm,
)

SIXTY_FOURTHS = "64ths"
REASON_LENGTH = 200
# A figure this share off what was expected is asked about, whatever else it could be.
FAR_PERCENT = 15

_SIZE_WORDS = re.compile(r"\s+(?:(?:at\s+)?(full)(?:\s+size)?|(?:on\s+the\s+)?(model))\s*$", re.IGNORECASE)
_BARE_PARTS = re.compile(r"\d{1,4}(?:\s+1/2|½)?", re.ASCII)
_ONE_OR_MORE = re.compile(r"0*[1-9]\d*[.,]\d*", re.ASCII)


@dataclass(frozen=True)
class Ruler:
    """How the figures of a build are read: what a bare figure means, at which size, at which scale."""

    unit: str = "mm"
    size: str = "model"
    scale: Scale | None = None

    @property
    def unit_words(self) -> str:
        return {"mm": _("mm"), "in": _("inches"), SIXTY_FOURTHS: _("64ths of an inch")}[self.unit]

    @property
    def example(self) -> str:
        return {"mm": "4.76", "in": "0.188", SIXTY_FOURTHS: "12 1/2"}[self.unit]


def scale_of(build) -> Scale | None:
    return Scale(build.scale_num, build.scale_den) if build.scale_num else None


def ruler_of(build, size: str = "model") -> Ruler:
    return Ruler(unit=build.reading_unit, size=size, scale=scale_of(build))


def read_typed(text: str, *, words: str, ruler: Ruler, allow_zero: bool = False) -> Length:
    """Return the length that was typed; "9 in at full size" and "4.76 mm" win over the ruler.

    Raises PlankingError in a sentence that begins with ``words``.
    """
    bare, size = text, ruler.size
    said = _SIZE_WORDS.search(text)
    if said:
        bare, size = text[: said.start()], "full" if said[1] else "model"
    if ruler.unit != SIXTY_FOURTHS:
        read = read_length(
            bare, field=words, unit=ruler.unit, size=size, scale=ruler.scale, allow_zero=allow_zero
        )
        return replace(read, typed=text)
    return _read_sixty_fourths(bare, text, size, words=words, ruler=ruler, allow_zero=allow_zero)


def _read_sixty_fourths(bare, text, size, *, words, ruler, allow_zero) -> Length:
    """Read a caliper that shows 64ths: 12 is 12/64 in; 3/16 and 0.188 are inches, as they look."""
    parts = bare.strip()
    if _BARE_PARTS.fullmatch(parts):
        read = read_length(
            parts.replace("½", " 1/2"),
            field=words,
            unit="in",
            size=size,
            scale=ruler.scale,
            allow_zero=allow_zero,
        )
        return replace(read, mm=read.mm / 64, typed=text, unit=SIXTY_FOURTHS)
    if _ONE_OR_MORE.fullmatch(parts):
        whole = parts.replace(",", ".").partition(".")[0]
        raise PlankingError(
            words,
            _(
                '%(words)s: "%(typed)s" can be read two ways; write %(whole)s 1/2 for 64ths, or add in or mm.'
            )
            % {"words": capfirst(words), "typed": parts, "whole": whole},
        )
    read = read_length(bare, field=words, unit="in", size=size, scale=ruler.scale, allow_zero=allow_zero)
    return replace(read, typed=text)


@dataclass(frozen=True)
class Question:
    """What is asked about an odd figure: the figures first, then what it may have been, then the way to keep
    it.
    """

    name: str
    first: str
    rest: str = ""
    answers: list = field(default_factory=list)
    keep_label: str = ""

    @property
    def keep_name(self) -> str:
        return keep_name(self.name)

    @property
    def sentence(self) -> str:
        return f"{self.first} {self.rest}".strip()


def take_name(name: str) -> str:
    return f"{name}-take"


def keep_name(name: str) -> str:
    return f"{name}-keep"


class LengthField(forms.CharField):
    """A length, exact; ``words`` name it in sentences, and odd is judged by ``expected_nm``."""

    def __init__(
        self, *, ruler, words, expected_nm=None, expected_words="", ask_far=True, far_percent=FAR_PERCENT,
        allow_zero=False, **kwargs,
    ):  # fmt: skip
        kwargs.setdefault("label", capfirst(words))
        super().__init__(max_length=None, strip=True, **kwargs)
        self.ruler, self.words, self.allow_zero = ruler, words, allow_zero
        self.expected_nm, self.ask_far, self.far_percent = expected_nm, ask_far, far_percent
        self.expected_words = expected_words or _("the plan")
        self.error_messages["required"] = _("%(words)s: nothing was typed.") % {"words": capfirst(words)}
        # The figure pad of a phone has no slash and no space, so only mm may ask for it.
        keyboard = "decimal" if ruler.unit == "mm" and ruler.size == "model" else "text"
        self.widget.attrs.update(
            {"inputmode": keyboard, "autocomplete": "off", **kwargs.get("widget_attrs", {})}
        )

    def clean(self, value):
        text = super().clean(value)
        if text == "":
            return None
        try:
            return read_typed(text, words=self.words, ruler=self.ruler, allow_zero=self.allow_zero)
        except PlankingError as refused:
            raise ValidationError(refused.sentence, code="unread") from None

    def question(self, name: str, length: Length) -> Question | None:
        """Return what to ask about this length, or None where it is as expected or nothing was expected."""
        if self.expected_nm is None:
            return None
        return question_about(
            name, length, from_nm(self.expected_nm), ruler=self.ruler, expected_words=self.expected_words,
            ask_far=self.ask_far, far_percent=self.far_percent,
        )  # fmt: skip


def question_about(
    name, length, expected_mm, *, ruler, expected_words, ask_far=True, far_percent=FAR_PERCENT
) -> Question | None:
    unit = "in" if length.unit == SIXTY_FOURTHS else length.unit
    others = likely_other_unit(length.mm, expected_mm, ruler.scale, unit=unit, size=length.size)
    others = _distinct(others)
    far = abs(length.mm - expected_mm) * 100 > far_percent * expected_mm
    if not others and not (far and ask_far):
        return None
    first = _("%(typed)s is %(how)s %(expected)s (%(mm)s).") % {
        "typed": length.typed,
        "how": _how_far(length.mm, expected_mm),
        "expected": expected_words,
        "mm": show_mm(expected_mm),
    }
    return ask(name, length, first, [(other.words, other.mm) for other in others])


def ask(name: str, length: Length, first: str, others: list[tuple[str, Fraction]]) -> Question:
    """Return a question; its answers are other readings, as words that can be typed and mm."""
    answers = [{"label": show_mm(mm), "name": take_name(name), "value": words} for words, mm in others[:3]]
    meant = _(", or ").join(_meant(words, mm) for words, mm in others[:3])
    return Question(
        name=name,
        first=first,
        rest=_("Did you mean %(meant)s?") % {"meant": meant} if others else "",
        answers=answers,
        keep_label=_("Keep %(typed)s, with a reason") % {"typed": length.typed},
    )


def _distinct(others):
    """Two slips that come to the same figure are one answer."""
    seen, kept = set(), []
    for other in others:
        key = show_mm(other.mm)
        if key not in seen:
            seen.add(key)
            kept.append(other)
    return kept


def _meant(words: str, mm: Fraction) -> str:
    """Another reading in words; what is not plainly mm on the model says how much that is."""
    plain = words.removesuffix(" on the model")
    return plain if plain.endswith(" mm") else f"{words} ({show_mm(mm)})"


def _how_far(mm, expected_mm) -> str:
    ratio = mm / expected_mm
    for times, words in (
        (2, _("twice")),
        (3, _("three times")),
        (10, _("ten times")),
        (100, _("a hundred times")),
    ):
        if abs(ratio / times - 1) <= Fraction(4, 100):
            return words
    if abs(ratio * 2 - 1) <= Fraction(4, 100):
        return _("half of")
    if ratio > 2:
        return _("far over")
    if ratio < Fraction(1, 2):
        return _("far under")
    return (
        _("%(mm)s over") % {"mm": show_mm(mm - expected_mm)}
        if ratio > 1
        else _("%(mm)s under") % {"mm": show_mm(expected_mm - mm)}
    )


class AskingForm(forms.Form):
    """A form that asks about odd figures beside their field; it changes nothing by itself."""

    def __init__(self, data=None, *args, **kwargs):
        super().__init__(_taken(data), *args, **kwargs)
        self.questions: dict[str, Question] = {}
        self.kept_reasons: dict[str, str] = {}

    def reason_for(self, name: str) -> str:
        """Return the reason that was given for keeping an odd figure, as typed."""
        return str(self.data.get(self.add_prefix(keep_name(name)), "") or "").strip()[:REASON_LENGTH]

    def clean(self):
        cleaned = super().clean()
        for name, form_field in self.fields.items():
            length = self.cleaned_data.get(name)
            if isinstance(form_field, LengthField) and length is not None:
                self.put_question(name, form_field.question(self.add_prefix(name), length))
        return cleaned

    def put_question(self, name: str, question: Question | None) -> None:
        """Ask, unless the figure comes with a reason to keep it."""
        if question is None or name in self.questions:
            return
        reason = self.reason_for(name)
        if reason:
            self.kept_reasons[name] = reason
            return
        self.questions[name] = question
        self.add_error(name, ValidationError(question.sentence, code="odd"))

    def row(self, name: str, **extra) -> dict:
        """Return what a template needs of one field: the bound field, its question, its other problems."""
        question = self.questions.get(name)
        problems = [] if question else list(self[name].errors)
        return {"field": self[name], "question": question, "problems": problems,
                "reason": self.reason_for(name), **extra}  # fmt: skip


def _taken(data):
    """Put the answer that was chosen in the place of the figure it was asked about."""
    if not data:
        return data
    chosen = [name for name in data if name.endswith("-take") and data[name]]
    if not chosen:
        return data
    copy = data.copy()
    for name in chosen:
        field_name = name.removesuffix("-take")
        copy[field_name] = data[name]
        copy.pop(keep_name(field_name), None)
    return copy
