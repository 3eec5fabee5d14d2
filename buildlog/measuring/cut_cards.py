"""Cut cards with what to set: the widths wanted less the builder's habit, so that the planks come out as wanted."""

from dataclasses import replace

from buildlog.models import NM_PER_MM
from buildlog.queries.cut_cards import CutCard, cut_card_of, print_in_hand, says_otherwise
from buildlog.queries.planks import StrakeState, states_of_strakes

from .reviews import habits_of


def card_to_cut(build, strake, revision, state: StrakeState | None = None) -> CutCard | None:
    """Return the card of a strake with what to set, or None where the revision leaves it out.

    A strake in hand keeps what its card said when it was begun; one still to be cut is set less the habit as it
    is known now. ``state`` spares a query where the caller has it.
    """
    card = cut_card_of(build, strake, revision)
    if card is None:
        return None
    state = state or states_of_strakes([strake.pk]).get(strake.pk)
    if state is not None and state.state != "open":
        return card.setting(state.set_widths if state.revision_id == revision.pk else {})
    habits = habits_of(strake.opening).get(card.label, {})
    card = card.setting(
        {
            line.station.name: line.makes_nm - round(habits.get(line.station.name, 0.0) * NM_PER_MM)
            for line in card.lines
        }
    )
    printed = print_in_hand(card)
    return replace(card, printed_apart=printed) if printed and says_otherwise(printed, card) else card


def set_widths_now(build, strake, revision) -> dict[str, int]:
    """Return what a builder who takes a strake in hand now is told to set, nm by station name.

    Who has the card on paper cuts to the paper; the others cut to the screen. Empty where no habit is taken off.
    """
    card = card_to_cut(build, strake, revision)
    if card is None:
        return {}
    printed = print_in_hand(card)
    return printed.set_widths if printed else card.set_widths
