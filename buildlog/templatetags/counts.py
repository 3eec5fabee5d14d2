"""Small numbers as words, where a sentence begins with a count: {% load counts %}{{ 5|in_words }}."""

from django import template
from django.utils.translation import gettext_lazy as _

register = template.Library()

WORDS = [
    _("none"), _("one"), _("two"), _("three"), _("four"), _("five"), _("six"), _("seven"), _("eight"),
    _("nine"), _("ten"), _("eleven"), _("twelve"),
]  # fmt: skip


@register.filter
def in_words(number: int) -> str:
    """Five for 5; figures above twelve."""
    return str(WORDS[number]) if 0 <= number < len(WORDS) else str(number)
