"""What the arithmetic says of an opening, computed once a change and kept."""

import functools
import types
import typing
from dataclasses import fields, is_dataclass

from django.utils import timezone

from buildlog.models import Opening, Review
from planking import drift
from planking.errors import PlankingError
from planking.reviewed import OpeningReview

from .openings import facts_of

# Raise it whenever planking may say something else of the same facts; stored reviews of before are not read.
ARITHMETIC_VERSION = "3"


def review_of(opening: Opening, as_of=None) -> OpeningReview | None:
    """Return the review of an opening, or None where there is no plan or the facts cannot be reckoned.

    The present one is kept by serial. ``trouble_of`` says what is wrong with facts that cannot be reckoned.
    """
    if as_of is not None:
        return None if trouble_of(opening, as_of) else _reviewed(opening, as_of)
    kept = Review.objects.filter(
        opening=opening, serial=opening.serial, arithmetic_version=ARITHMETIC_VERSION, as_of__isnull=True
    ).first()
    if kept:
        return _made(OpeningReview, kept.json) if kept.json else None
    try:
        review = _reviewed(opening)
    except PlankingError:
        return None
    _keep(opening, review)
    return review


def _reviewed(opening, as_of=None) -> OpeningReview | None:
    facts = facts_of(opening, as_of)
    return drift.review(facts) if facts else None


def _keep(opening, review):
    Review.objects.filter(opening=opening, serial__lt=opening.serial).delete()
    Review.objects.get_or_create(
        opening=opening, serial=opening.serial, arithmetic_version=ARITHMETIC_VERSION, as_of=None,
        defaults={"json": review.as_json() if review else {}, "made_at": timezone.now()},
    )  # fmt: skip


def trouble_of(opening: Opening, as_of=None) -> str:
    """Return the sentence that says why an opening cannot be reckoned, or nothing where it can."""
    try:
        facts_of(opening, as_of)
    except PlankingError as trouble:
        return str(trouble)
    return ""


_hints = functools.cache(typing.get_type_hints)


def _made(kind, value):
    """Return ``value``, read from JSON, as the dataclass, tuple or plain value that ``kind`` says it was."""
    if is_dataclass(kind):
        hints = _hints(kind)
        return kind(**{f.name: _made(hints[f.name], value[f.name]) for f in fields(kind) if f.name in value})
    origin, arguments = typing.get_origin(kind), typing.get_args(kind)
    if origin is tuple and value is not None:
        return tuple(_made(arguments[0], item) for item in value)
    if origin in (typing.Union, types.UnionType) and value is not None:
        return _made(next(a for a in arguments if a is not type(None)), value)
    return value
