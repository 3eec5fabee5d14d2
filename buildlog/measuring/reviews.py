"""What the arithmetic says of an opening, computed once a change and kept."""

import functools
import types
import typing
from dataclasses import fields, is_dataclass

from django.db import transaction
from django.utils import timezone

from buildlog.models import Opening, Review
from planking import drift, estimate, recut
from planking.closing_strake import closing_strake
from planking.errors import PlankingError
from planking.reviewed import OpeningReview

from .openings import facts_of

# Raise it whenever planking may say something else of the same facts; stored reviews of before are not read.
ARITHMETIC_VERSION = "10"
HABITS = "habits"
CLOSING = "closing"


def review_of(opening: Opening, as_of=None, read=facts_of) -> OpeningReview | None:
    """Return the review of an opening, or None where there is no plan or the facts cannot be reckoned.

    The present one is kept by serial. ``trouble_of`` says what is wrong with facts that cannot be reckoned.
    ``read`` gives the facts of an opening to a page that wants them for itself too.
    """
    try:
        if as_of is not None:
            facts = read(opening, as_of)
            return drift.review(facts) if facts else None
        kept = _standing(opening)
        if kept:
            return _made(OpeningReview, kept.json) if kept.json else None
        return _keep(opening, read(opening))[1]
    except PlankingError:
        return None


def habits_of(opening: Opening) -> dict[str, dict[str, float]]:
    """Return the shrunk habit that comes off each strake still to be cut, mm by its label and the station's name.

    Nought for the closing strake, which is made to the gap; nothing where the facts cannot be reckoned.
    """
    return _kept(opening).get(HABITS, {})


def closing_of(opening: Opening, as_of=None) -> dict[str, dict[str, float]]:
    """Return the closing strake foretold, the rest cut to plan, by station: planned, expected, low and high, mm.

    Low and high hold it in 95 of 100 cases. Nothing where nothing is left to cut or the facts cannot be reckoned.
    """
    if as_of is None:
        return _kept(opening).get(CLOSING, {})
    try:
        facts = facts_of(opening, as_of)
    except PlankingError:
        return {}
    return _closing(facts, None) if facts else {}


def _kept(opening) -> dict:
    """Return what is kept of the opening as it stands, reckoned first where nothing is kept yet."""
    kept = _standing(opening)
    if kept:
        return kept.json
    try:
        return _keep(opening, facts_of(opening))[0]
    except PlankingError:
        return {}


def _standing(opening) -> Review | None:
    return Review.objects.filter(
        opening=opening, serial=opening.serial, arithmetic_version=ARITHMETIC_VERSION, as_of__isnull=True
    ).first()


def _keep(opening, facts) -> tuple[dict, OpeningReview | None]:
    """Keep the review of the facts; return what is kept, and the review itself."""
    told, review = {}, None
    if facts:
        # One ledger serves the review and the cards: solving it is most of the reckoning.
        solved = estimate.ledger(facts)
        review = drift.review(facts, solved=solved)
        told = review.as_json() | {HABITS: _habits(facts, solved), CLOSING: _closing(facts, solved)}
    with transaction.atomic():
        Review.objects.filter(opening=opening, serial__lt=opening.serial).delete()
        made = Review(
            opening=opening, serial=opening.serial, arithmetic_version=ARITHMETIC_VERSION, json=told,
            made_at=timezone.now(),
        )  # fmt: skip
        # Two pages may reckon the same at once; either review is good.
        Review.objects.bulk_create([made], ignore_conflicts=True)
    return told, review


def _habits(facts, solved) -> dict[str, dict[str, float]]:
    to_cut = [strake.label for strake in facts.strakes if strake.state == "open"]
    return {
        label: {one.station: one.habit_mm for one in recut.card_widths(facts, label, solved=solved)}
        for label in to_cut
    }


def _closing(facts, solved) -> dict[str, dict[str, float]]:
    try:
        foretold = closing_strake(facts, solved=solved)
    except PlankingError:
        return {}
    return {
        one.station: {
            "planned_mm": one.planned_mm, "expected_mm": one.expected_mm, "low_mm": one.low_mm, "high_mm": one.high_mm,
        }
        for one in foretold.stations
    }  # fmt: skip


def trouble_of(opening: Opening, as_of=None) -> str:
    """Return the sentence that says why an opening cannot be reckoned, or nothing where it can."""
    try:
        facts_of(opening, as_of)
    except PlankingError as trouble:
        return str(trouble)
    return ""


def _made(kind, value):
    """Return ``value``, read from JSON, as the dataclass, tuple or plain value that ``kind`` says it was."""
    make = _maker(kind)
    return value if make is None else make(value)


@functools.cache
def _maker(kind):
    """Return what makes one kind of value out of JSON, None where JSON holds it as it is."""
    if is_dataclass(kind):
        return _maker_of_dataclass(kind)
    origin, arguments = typing.get_origin(kind), typing.get_args(kind)
    if origin is tuple:
        make = _maker(arguments[0])
        return lambda value: None if value is None else tuple(value if make is None else map(make, value))
    if origin in (typing.Union, types.UnionType):
        make = _maker(next(a for a in arguments if a is not type(None)))
        return None if make is None else lambda value: None if value is None else make(value)
    return None


def _maker_of_dataclass(kind):
    hints = typing.get_type_hints(kind)
    known = {one.name for one in fields(kind)}
    makers = {name: make for name in known if (make := _maker(hints[name]))}

    def make(value):
        told = {name: part for name, part in value.items() if name in known}
        for name in makers.keys() & told.keys():
            told[name] = makers[name](told[name])
        return kind(**told)

    return make
