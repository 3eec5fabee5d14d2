"""What is said where nothing, or nothing that is offered, was chosen: a sentence that names the field."""

from django import forms
from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _

_OWN = ("required", "invalid_choice")
_NAMELESS = [
    forms.Field.default_error_messages["required"],
    forms.ChoiceField.default_error_messages["invalid_choice"],
    forms.ModelChoiceField.default_error_messages["invalid_choice"],
]


def choose_one(label) -> dict:
    """Return the messages of a field of choices."""
    return dict.fromkeys(_OWN, format_lazy(_("{label}: choose one of those offered."), label=label))


def name_choices(form):
    """Give the fields of choices of a form, where they bring no sentence of their own, one with their label."""
    for field in form.fields.values():
        if isinstance(field, forms.ChoiceField):
            field.error_messages |= {
                key: words for key, words in choose_one(field.label).items() if field.error_messages[key] in _NAMELESS
            }
