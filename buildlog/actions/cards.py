"""Printing a cut card keeps what stood on it; a card thrown away is no longer warned of."""

import secrets

from django.db import transaction

from buildlog.models import CardPrint

from .events import tell_event

# Without 0, 1, I, L, O, U: a code may have to be read out and typed.
_SIGNS = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
CODE_LENGTH = 10


def print_card(plan_strake, *, words, widths_nm, person, now, set_widths=None):
    """Keep one printed card under a code nobody can guess. Printed twice with the same content, it is one
    card.
    """
    build = plan_strake.revision.build
    with transaction.atomic():
        standing = CardPrint.objects.filter(
            plan_strake=plan_strake, words=words, widths=widths_nm, set_widths=set_widths or {},
            voided_at__isnull=True, thrown_away_at__isnull=True,
        ).first()  # fmt: skip
        if standing:
            return standing
        card = CardPrint.objects.create(
            plan_strake=plan_strake,
            code=_code(),
            words=words,
            widths=widths_nm,
            set_widths=set_widths or {},
            printed_at=now,
            printed_by=person,
        )
        tell_event("printed", card, build=build, now=now, person=person, after={"words": words})
    return card


def _code() -> str:
    return "".join(secrets.choice(_SIGNS) for _ in range(CODE_LENGTH))


def throw_away_card(card, *, person, now):
    """Note that a printed card is out of the shop. Twice changes nothing."""
    build = card.plan_strake.revision.build
    with transaction.atomic():
        if CardPrint.objects.filter(pk=card.pk, thrown_away_at__isnull=True).update(thrown_away_at=now):
            tell_event("threw away", card, build=build, now=now, person=person)
