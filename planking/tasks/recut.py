"""An opening with its readings -> new widths for the strakes not yet cut, or where and by how much it cannot
be."""

from dataclasses import dataclass

from planking import words
from planking.opening_asked import EXAMPLE as OPENING
from planking.opening_asked import OpeningAsked, opening_of
from planking.recut import Misfit, Mode, Recut, recut
from planking.reviewed import CountThatWouldDo
from planking.tasks import CannotBeDone

ASKED_FOR = "new widths for the strakes not yet cut, that fill the gap where no eye sees it"
EXAMPLE = {**OPENING, "mode": "fair"}


@dataclass(frozen=True)
class Asked(OpeningAsked):
    """One opening; how to share the shortage, strakes to leave alone, and strakes out of sight."""

    mode: Mode = "fair"
    locked: tuple[str, ...] = ()
    hidden: tuple[str, ...] | None = None


@dataclass(frozen=True)
class Misfits(CannotBeDone):
    """No widths inside the limits fill the gap: by how much and where, and the counts that would do."""

    misfits: tuple[Misfit, ...]
    counts_that_would_do: tuple[CountThatWouldDo, ...]


Answered = Recut


def answer(asked: Asked) -> Recut | Misfits:
    """Return the new widths, or the misfits."""
    found = recut(opening_of(asked), asked.mode, locked=asked.locked, hidden=asked.hidden)
    if found.can_be_done:
        return found
    worst = max(found.misfits, key=lambda one: abs(one.short_mm))
    way = "more" if worst.short_mm > 0 else "less"
    by = f"{abs(worst.short_mm):.2f} mm {way}"
    why = f"At {worst.station} the strakes left would need {by} than the gap gives."
    help_ = tuple(f"{words.count(one.strakes_left, 'strake')} left would do." for one in found.counts_that_would_do)
    return Misfits(why, help_ or _where_only_some_fail(found, asked), found.misfits, found.counts_that_would_do)


def _where_only_some_fail(found: Recut, asked: Asked) -> tuple[str, ...]:
    """Return what a builder does where no other count fits everywhere: end a strake short, or let one in."""
    told = []
    if len(found.misfits) < len(opening_of(asked).stations):
        tight = words.listed([words.station(one.station) for one in found.misfits if one.short_mm > 0])
        wide = words.listed([words.station(one.station) for one in found.misfits if one.short_mm < 0])
        told += [f"A strake that ends short of {tight} would do there (a drop strake)."] if tight else []
        told += [f"A stealer let in at {wide} would do there."] if wide else []
    return (*told, "Wider limits would do.")
