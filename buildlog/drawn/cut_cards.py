"""The plank of a cut card, as its two pictures are told it."""

from itertools import pairwise

from django.utils.translation import gettext as _

from buildlog.models import NM_PER_MM
from buildlog.pictures.cut_card import CardButt, CardPlank, CardStation, cut_card


def card_pictures(card, key) -> dict:
    """Return the plank for the phone and for desk and paper. ``key`` keeps ids apart where a page has several."""
    if not card.lines:
        return {}
    plank = CardPlank(card.side, card.datum, _stations(card), _butts(card))
    summary = _("%(side)s %(label)s, outer face up: measured from its %(edge)s side, %(widths)s.") % {
        "side": card.strake.opening.get_side_display(), "label": card.label,
        "edge": _("keel") if card.datum == "keel" else _("wale"),
        "widths": ", ".join(f"{line.station.name} {line.set_nm / NM_PER_MM:.2f}" for line in card.lines),
    }  # fmt: skip
    return {
        "phone": cut_card(plank, "phone", summary=summary, key=f"{key}-phone", head=0),
        "wide": cut_card(plank, "paper", summary=summary, key=f"{key}-wide"),
    }


def _stations(card) -> tuple[CardStation, ...]:
    """Aft to forward, as the picture wants them; places along the hull only where all are known and rise."""
    rows = list(reversed(card.lines))
    places = [-line.station.x_nm / NM_PER_MM if line.station.x_nm is not None else None for line in rows]
    known = None not in places and all(a < b for a, b in pairwise(places))
    return tuple(
        CardStation(line.station.name, line.set_nm / NM_PER_MM, place if known else None)
        for line, place in zip(rows, places, strict=True)
    )


def _butts(card) -> tuple[CardButt, ...]:
    return tuple(
        CardButt(-butt.frame.x_nm / NM_PER_MM, _("butt %(where)s") % {"where": butt.short})
        for butt in card.butts
        if butt.frame.x_nm is not None
    )
