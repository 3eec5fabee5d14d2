"""The strakes as they were cut, belt by belt, and the words for a run of one sign: notes, not alarms."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from planking import words
from planking.habit import habit
from planking.hung_widths import HungWidth, hung_widths, zero_counts, zero_of
from planking.note_sums import Rate, RunStrake, chart_sum, run_sum
from planking.opening import Opening, Strake
from planking.plain_sum import correlated_doubt
from planking.reviewed import Note

HABIT_OF = 5
"""Five of five on one side of the plan happens by luck once in sixteen (calculated)."""

SIGN_FLOOR_MM = 0.005
"""Below this a strake is as planned; two decimals do not show it."""

GUARD = 1.645


@dataclass(frozen=True)
class CutStrake:
    """One strake as one number: the mean of its deviations over the stations where it was read, and each of
    them."""

    strake: Strake
    mean_mm: float
    read: tuple[tuple[str, HungWidth], ...]

    @property
    def as_told(self) -> RunStrake:
        """Return the strake as a line of a sum tells it."""
        read = {name: width.deviation_mm for name, width in self.read}
        return RunStrake(self.strake.label, self.mean_mm, read)


def notes(opening: Opening) -> tuple[Note, ...]:
    """Return what is worth a word about the cutting, belt by belt; words are not alarms.

    From the third strake of one sign, when the sum exceeds its own doubt, a run of one sign is told as a
    note (two are told as no habit yet); five of five make a habit, and the zero is asked for before the saw
    is blamed. Source: derived here.
    """
    found = [note for belt in belts(opening) if (note := _belt_note(opening, belt)) is not None]
    return (*found, *_by_chart(opening, found), *_in_doubt(opening))


def _by_chart(opening: Opening, told: list[Note]) -> list[Note]:
    """Return the habit that the chart finds where no belt has shown five of five."""
    if any(note.kind == "habit" for note in told):
        return []
    order = {strake.label: index for index, strake in enumerate(opening.hung_in_order)}
    cuts = sorted((one for belt in belts(opening) for one in belt), key=lambda one: order[one.strake.label])
    found = habit([one.mean_mm for one in cuts], scatter_mm=max(opening.cutting_scatter_mm, 1e-3))
    if not found.alarms or found.alarms[-1] < len(cuts) - HABIT_OF:
        return []
    labels = tuple(one.strake.label for one in cuts)
    sentence = f"{opening.side.capitalize()}: {found.sentence[:1].lower()}{found.sentence[1:]}"
    by_strake = chart_sum([one.as_told for one in cuts], found)
    return [Note("habit", sentence, labels, value_mm=found.bias_mm, sum=by_strake)]


def belts(opening: Opening) -> tuple[tuple[CutStrake, ...], ...]:
    """Return the strakes that were read, in the order of hanging, parted by belt and run."""
    read = {
        one.name: {w.strake: w for w in hung_widths(opening, one.name)[0] if w.read_here}
        for one in opening.stations
    }
    groups: dict[tuple[str | None, str], list[CutStrake]] = {}
    for strake in opening.hung_in_order:
        widths = tuple((name, found[strake.label]) for name, found in read.items() if strake.label in found)
        if widths:
            mean = sum(width.deviation_mm for _, width in widths) / len(widths)
            groups.setdefault((strake.belt, strake.run), []).append(CutStrake(strake, mean, widths))
    return tuple(tuple(group) for group in groups.values())


def last_of_one_sign(means_mm: Sequence[float]) -> int:
    """Return how many of the latest strakes lie on one side of the plan.

    >>> last_of_one_sign([0.01, -0.02, 0.05, 0.06]), last_of_one_sign([0.05, 0.0])
    (2, 0)
    """
    length, sign = 0, 0
    for mean in reversed(means_mm):
        now = 0 if abs(mean) < SIGN_FLOOR_MM else int(math.copysign(1, mean))
        if not now or (sign and now != sign):
            break
        sign, length = now, length + 1
    return length


def _belt_note(opening: Opening, belt: tuple[CutStrake, ...]) -> Note | None:
    length = last_of_one_sign([one.mean_mm for one in belt])
    streak = belt[len(belt) - length :]
    if length < 2:
        return None
    total = sum(one.mean_mm for one in streak)
    doubt = _doubt_of(opening, streak)
    if abs(total) <= GUARD * doubt:
        return None
    kind: Literal["habit", "one_sign"] = "habit" if length >= HABIT_OF else "one_sign"
    sums = _sums(streak)
    worst = max(sums, key=lambda name: abs(sums[name]))
    places = [worst]
    flat = opening.dead_flat or next((name for name in sums if name.casefold() in words.DEAD_FLAT), None)
    if flat in sums and flat != worst:
        places.append(flat)
    rates = _rates(opening, belt, streak, sums, places) if length > 2 else []
    sentence = _sentence(opening, belt, streak, sums, places, rates)
    labels = tuple(one.strake.label for one in streak)
    told = run_sum([one.as_told for one in streak], places if length > 2 else places[-1:], rates, doubt, GUARD)
    return Note(kind, sentence, labels, tuple(places), total, doubt, told)


def _sums(streak: Sequence[CutStrake]) -> dict[str, float]:
    sums: dict[str, float] = {}
    for one in streak:
        for name, width in one.read:
            sums[name] = sums.get(name, 0.0) + width.deviation_mm
    return sums


def _doubt_of(opening: Opening, streak: Sequence[CutStrake]) -> float:
    independent, shared = [], []
    counts: dict[str, float] = {}
    for one in streak:
        independent.append(math.sqrt(sum(width.u_mm**2 for _, width in one.read)) / len(one.read))
        for epoch, number in zero_counts(width for _, width in one.read).items():
            counts[epoch] = counts.get(epoch, 0.0) + number / len(one.read)
    shared = [share * zero_of(opening, epoch)[1] for epoch, share in counts.items()]
    return correlated_doubt(independent, shared)


def _sentence(
    opening: Opening,
    belt: tuple[CutStrake, ...],
    streak: Sequence[CutStrake],
    sums: dict[str, float],
    places: list[str],
    rates: Sequence[Rate],
) -> str:
    side, way = opening.side.capitalize(), "wide" if streak[0].mean_mm > 0 else "narrow"
    labels = [one.strake.label for one in streak]
    if len(streak) == 2:
        place = places[-1]
        mean = sums[place] / sum(any(name == place for name, _ in one.read) for one in streak)
        if mean * streak[0].mean_mm <= 0:
            # At this one station they run the other way: what they come to over all is told.
            mean = sum(one.mean_mm for one in streak) / 2
        about = f"{side} {words.listed(labels)} are both {way}, about {words.mm(abs(mean))}."
        return f"{about} Two is not yet a habit."
    name = belt[0].strake.belt
    who = f"{side} {name.lower()} belt" if name else f"{side} run from the {belt[0].strake.run}"
    told = f"{who}: {len(streak)} of {len(belt)} {way}, together "
    told += ", ".join(f"{_said(sums[place], way)} at {words.station(place)}" for place in places)
    if all(one.is_hung for one in opening.strakes):
        return f"{told}."
    return told + _what_follows(opening, belt, rates, way) + _ask_first(opening, streak)


def _said(value: float, way: str) -> str:
    """Return the figure without its sign, and the word for its sign where that is not the run's."""
    other = "narrow" if value < 0 else "wide"
    return words.mm(abs(value)) + (f" {other}" if other != way and round(abs(value), 2) else "")


def _what_follows(opening: Opening, belt: tuple[CutStrake, ...], rates: Sequence[Rate], way: str) -> str:
    if not rates:
        held = any(edge.strake == one.strake.label for edge in opening.edges for one in belt)
        return "; the line it ends at was held." if held else "; it is carried on to the strakes left."
    to_come = _to_come(opening, belt)
    last = to_come[0] if belt[0].strake.run == "wale" else to_come[-1]
    said = words.listed([_said(rate.by_then_mm, way) for rate in rates])
    return f"; at this rate {said} by strake {last.label}."


def _to_come(opening: Opening, belt: tuple[CutStrake, ...]) -> list[Strake]:
    first = belt[0].strake
    return [one for one in opening.strakes if one.belt == first.belt and one.run == first.run and not one.is_hung]


def _rates(
    opening: Opening,
    belt: tuple[CutStrake, ...],
    streak: Sequence[CutStrake],
    sums: dict[str, float],
    places: list[str],
) -> list[Rate]:
    to_come = _to_come(opening, belt)
    if belt[0].strake.belt is None or not to_come:
        return []
    rates = []
    for place in places:
        read = sum(any(name == place for name, _ in one.read) for one in streak)
        rates.append(Rate(place, sums[place], read, sum(place in one.planned_mm for one in to_come)))
    return rates


def _ask_first(opening: Opening, streak: Sequence[CutStrake]) -> str:
    if len(streak) < HABIT_OF:
        return " A note, not an alarm."
    epochs = {width.epoch for one in streak for _, width in one.read if width.epoch is not None}
    running = [epoch for epoch in opening.epochs if epoch.name in epochs and not epoch.ended]
    names = sorted({epoch.instrument for epoch in running})
    if epochs and not names:
        # What an instrument read before it was set anew, nobody can look at any more.
        return " Look at how the line is cut."
    asked = f" Check the zero of {words.listed(names)} first" if names else " Check the zero first"
    return f"{asked}, then how the line is cut."


def _in_doubt(opening: Opening) -> list[Note]:
    found = []
    for epoch in opening.epochs:
        labels = tuple(dict.fromkeys(one.strake for one in opening.widths if one.epoch == epoch.name))
        if epoch.in_doubt and labels:
            text = f"Readings of {words.strakes(labels)} with {epoch.instrument} are in doubt "
            text += "until its zero is checked."
            found.append(Note("in_doubt", text, labels))
    return found
