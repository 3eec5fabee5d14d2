"""What the arithmetic says of an opening, computed once a change and kept."""

import functools
import types
import typing
from dataclasses import fields, is_dataclass

from django.utils import timezone

from buildlog.models import Opening, Review
from planking import drift, estimate, recut
from planking.errors import PlankingError
from planking.reviewed import OpeningReview

from .openings import facts_of

# Raise it whenever planking may say something else of the same facts; stored reviews of before are not read.
ARITHMETIC_VERSION = "3"
HABITS = "habits"


def review_of(opening: Opening, as_of=None) -> OpeningReview | None:
    """Return the review of an opening, or None where there is no plan or the facts cannot be reckoned.

    The present one is kept by serial. ``trouble_of`` says what is wrong with facts that cannot be reckoned.
    """
    if as_of is not None:
        return None if trouble_of(opening, as_of) else _reviewed(opening, as_of)
    kept = _kept(opening)
    return _made(OpeningReview, kept) if kept else None


def habits_of(opening: Opening) -> dict[str, dict[str, float]]:
    """Return the shrunk habit that comes off each strake still to be cut, mm by its label and the station's name.

    Nought for the closing strake, which is made to the gap; nothing where the facts cannot be reckoned.
    """
    return _kept(opening).get(HABITS, {})


def _kept(opening) -> dict:
    """Return what is kept of the opening as it stands, reckoned first where nothing is kept yet."""
    kept = Review.objects.filter(
        opening=opening, serial=opening.serial, arithmetic_version=ARITHMETIC_VERSION, as_of__isnull=True
    ).first()
    if kept:
        return kept.json
    try:
        return _keep(opening, facts_of(opening))
    except PlankingError:
        return {}


def _keep(opening, facts) -> dict:
    told = {}
    if facts:
        # One ledger serves the review and the cards: solving it is most of the reckoning.
        solved = estimate.ledger(facts)
        told = drift.review(facts, solved=solved).as_json() | {HABITS: _habits(facts, solved)}
    Review.objects.filter(opening=opening, serial__lt=opening.serial).delete()
    Review.objects.get_or_create(
        opening=opening, serial=opening.serial, arithmetic_version=ARITHMETIC_VERSION, as_of=None,
        defaults={"json": told, "made_at": timezone.now()},
    )  # fmt: skip
    return told


def _habits(facts, solved) -> dict[str, dict[str, float]]:
    to_cut = [strake.label for strake in facts.strakes if strake.state == "open"]
    return {
        label: {one.station: one.habit_mm for one in recut.card_widths(facts, label, solved=solved)}
        for label in to_cut
    }


def _reviewed(opening, as_of=None) -> OpeningReview | None:
    facts = facts_of(opening, as_of)
    return drift.review(facts) if facts else None


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
