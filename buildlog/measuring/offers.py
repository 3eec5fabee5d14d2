"""What can be done with the strakes left, side by side: leave the plan, or share what is short in one of four ways."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from operator import attrgetter

from buildlog.models import NM_PER_MM
from planking import estimate, recut
from planking.counts import counts_that_would_do
from planking.errors import PlankingError
from planking.lengths import NM, round_run
from planking.plain_sum import plain_sum

from .instruments import width_mm
from .new_widths import NewWidths
from .openings import facts_of

LEAVE, EVEN, NUMBER = "leave", "even", "number"
# Less is not told as a change: nobody sets a caliper nearer.
NEWS_NM = round(recut.NEWS_MM * NM_PER_MM)


@dataclass(frozen=True)
class Place:
    """A length at a station, between two strakes where it is a step."""

    nm: int
    station: object
    between: tuple[str, str] = ("", "")


@dataclass(frozen=True)
class Offer:
    """One way to go on. ``widths`` maps stations to {strake pk: nm}; the closing strake is told at its narrowest."""

    mode: str
    widths: dict
    closing: Place | None
    closing_flat: Place | None
    step: Place | None
    changed: int
    least: Place | None
    most: Place | None
    broken: tuple[Place, ...]
    # The labels from the keel side, and at each station what hangs beside the gap: {label: (planned, read)}, mm.
    order: tuple[str, ...] = ()
    beside: dict = field(default_factory=dict)
    # How many strakes would share the gap, where that is another number than the plan has left; and what is odd then.
    left: int | None = None
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True)
class Recuts:
    """What planking makes of the strakes left, by the way it shares; ``facts`` is the opening it read.

    ``doubt_mm`` is how sure the room is, by the station's name.
    """

    facts: object
    ways: dict
    doubt_mm: dict


@dataclass(frozen=True)
class Misfit:
    """A station where the strakes left cannot be made to fill the gap, and how much is lacking or left open, nm."""

    station: object
    nm: int
    is_sure: bool


@dataclass(frozen=True)
class NoFit:
    """Where no widths inside the limits fill the gap, and which numbers of strakes to cut would."""

    tight: tuple[Misfit, ...]
    wide: tuple[Misfit, ...]
    counts: tuple
    everywhere: bool


def recuts_of(found: NewWidths) -> Recuts | None:
    """Return the recuts of the plan's own number of strakes; None where there is nothing to reckon with."""
    if not found.shares or found.trouble or found.added:
        return None
    try:
        facts = facts_of(found.opening)
        solved = estimate.ledger(facts)
        ways = {mode: recut.recut(facts, mode, solved=solved) for mode in ("by_width", "hidden_first", "fair")}
    except (PlankingError, AttributeError):
        return None
    doubts = zip(facts.stations, estimate.room(solved).u, strict=True)
    return Recuts(facts, ways, {station.name: float(u) for station, u in doubts})


def no_fit_of(found: NewWidths, recuts: Recuts | None) -> NoFit | None:
    """Return by how much and where the gap cannot be filled inside the limits; None where it can."""
    if recuts is None:
        return None
    tight, wide = [], []
    for share in found.shares:
        limits = [recuts.facts.limits.widths_mm(nm / NM_PER_MM) for nm in share.was.values()]
        least, most = (round(sum(ends) * NM_PER_MM) for ends in zip(*limits, strict=True)) if limits else (0, 0)
        lacking, band = max(least - share.total_nm, share.total_nm - most), recut.GUARD * NM_PER_MM
        if limits and lacking > 0:
            is_sure = lacking > band * recuts.doubt_mm.get(share.station.name, 0.0)
            (tight if share.total_nm < least else wide).append(Misfit(share.station, lacking, is_sure))
    if not tight and not wide:
        return None
    return NoFit(
        tuple(tight), tuple(wide), _counts_to_cut(recuts.facts), len(tight) + len(wide) == len(found.shares)
    )


def _counts_to_cut(facts) -> tuple:
    """Return the counts that would do, without the strakes already cut."""
    in_hand = sum(strake.state == "cut" for strake in facts.strakes)
    counts = counts_that_would_do(facts, [plain_sum(facts, station.name) for station in facts.stations])
    return tuple(
        replace(one, strakes_left=one.strakes_left - in_hand) for one in counts if one.strakes_left > in_hand
    )


def offers_of(found: NewWidths, recuts: Recuts | None, others: Sequence[NewWidths] = ()) -> list[Offer]:
    """Return what the widths come to: left alone, recut in four ways, and with each other number of strakes.

    Nothing where ``found`` itself is of another number than the plan's.
    """
    if recuts is None:
        return []
    facts, ways = recuts.facts, recuts.ways
    beside = {share.station: dict(_beside(facts, share.station.name)) for share in found.shares}
    order = tuple(strake.label for strake in facts.strakes)
    told = [_offer(found, facts, LEAVE, _left_alone(found)), _offer(found, facts, EVEN, _as_shared(found))]
    told += [_offer(found, facts, mode, _shared_by(found, way)) for mode, way in ways.items()]
    told += [_offer_of_number(other, facts) for other in others if other.shares and not other.trouble]
    return [replace(offer, order=order, beside=beside) for offer in told]


def _offer_of_number(other, facts) -> Offer:
    """A strake added or left out: what its steps beside the hung planks would be, and what is odd about it."""
    offer = _offer(other, facts, NUMBER, _as_shared(other))
    return replace(offer, left=other.left, warnings=tuple(other.warnings))


def _beside(facts, name):
    """Yield what hangs next to the strakes still open, with its planned width and its width as read, mm."""
    here = facts.strakes_at(name)
    for a, b in pairwise(here):
        for strake, other in ((a, b), (b, a)):
            read = width_mm(facts, strake.label, name)
            if strake.is_hung and other.state == "open" and read:
                yield strake.label, (strake.planned_mm[name], read)


def in_the_way_of(found: NewWidths, offers: list[Offer], mode: str) -> NewWidths:
    """Return the new widths shared in the way chosen; evenly where it is not one of those offered."""
    chosen = next((one for one in offers if one.mode == mode and mode not in (LEAVE, EVEN, NUMBER)), None)
    if chosen is None:
        return found
    return replace(found, shares=[replace(s, widths=chosen.widths[s.station]) for s in found.shares])


def _as_shared(found) -> dict:
    return {share.station: dict(share.widths) for share in found.shares}


def _left_alone(found) -> dict:
    """The strakes left to the plan in force; the closing one takes whatever that leaves."""
    closing = _closing(found)
    widths = {}
    for share in found.shares:
        here = dict(share.was)
        if closing in here:
            here[closing] += share.total_nm - sum(here.values())
        widths[share.station] = here
    return widths


def _closing(found) -> int | None:
    runs = {s.plan.strake_id: s.plan.run for s in found.open_strakes}
    last = found.open_strakes[0].plan.strake_id if found.open_strakes else None
    return next((pk for pk, run in runs.items() if run == "closing"), last)


def _shared_by(found, way) -> dict:
    """The widths of a recut, brought to the same sum at each station as the even one, to the nanometre."""
    widths = {}
    for share in found.shares:
        asked = {pk: way.of(found.labels[pk]).get(share.station.name) for pk in share.widths}
        if not all(asked.values()):
            widths[share.station] = dict(share.widths)
            continue
        scale = share.total_nm / NM_PER_MM / sum(one.wanted_mm for one in asked.values())
        steps = round_run([one.wanted_mm * scale for one in asked.values()], NM).steps
        steps = [*steps[:-1], share.total_nm - sum(steps[:-1])]
        widths[share.station] = dict(zip(asked, steps, strict=True))
    return widths


def _offer(found, facts, mode, widths) -> Offer:
    closing, was = _closing(found), {share.station: share.was for share in found.shares}
    made = [Place(here[closing], at) for at, here in widths.items() if closing in here]
    every = [
        (Place(nm, at, (found.labels[pk], "")), was[at].get(pk))
        for at, here in widths.items()
        for pk, nm in here.items()
    ]
    steps = [step for at, here in widths.items() for step in _steps(found, facts, at, here)]
    width = attrgetter("nm")
    return Offer(
        mode=mode, widths=widths,
        closing=min(made, key=lambda place: place.nm - (was[place.station].get(closing) or place.nm), default=None),
        closing_flat=next((place for place in made if place.station.is_dead_flat), None),
        step=max(steps, key=width, default=None),
        changed=0 if mode == LEAVE else sum(before is not None and abs(p.nm - before) > NEWS_NM for p, before in every),
        least=min((p for p, _before in every), key=width, default=None),
        most=max((p for p, _before in every), key=width, default=None),
        broken=tuple(p for p, before in every if before and _is_broken(facts, p.nm, before)),
    )  # fmt: skip


def _is_broken(facts, nm, planned_nm) -> bool:
    lowest, highest = facts.limits.widths_mm(planned_nm / NM_PER_MM)
    return not lowest <= nm / NM_PER_MM <= highest


def _steps(found, facts, station, here):
    """Return how much each joint between neighbours steps off the plan's own step, where both are known."""
    new = {found.labels[pk]: nm for pk, nm in here.items()}
    off = []
    for strake in facts.strakes_at(station.name):
        planned = strake.planned_mm.get(station.name)
        read = width_mm(facts, strake.label, station.name)
        if planned is None:
            off.append((strake.label, None))
        elif strake.label in new:
            off.append((strake.label, new[strake.label] - planned * NM_PER_MM))
        elif read is not None:
            off.append((strake.label, (read - planned) * NM_PER_MM))
        else:
            off.append((strake.label, None))
    for (keel, a), (wale, b) in pairwise(off):
        if a is not None and b is not None and (keel in new or wale in new):
            yield Place(round(abs(a - b)), station, (wale, keel))
