"""Is the cutting biased? Words for a run of one sign, and the chart that tells a habit from luck."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from planking import words
from planking.cusum import Cusum, cusum
from planking.errors import PlankingError
from planking.opening import Opening, Strake
from planking.plain_sum import HungWidth, correlated_doubt, hung_widths, zero_counts, zero_of
from planking.reviewed import Note

HABIT_OF = 5
"""Five of five on one side of the plan happens by luck once in sixteen (JOB 0.2, calculated)."""

SIGN_FLOOR_MM = 0.005
"""Below this a strake is as planned; two decimals do not show it."""

GUARD = 1.645

SLACK, LIMIT = 0.417, 4.80
"""Half the shift to be found, and the limit for one false alarm in 200 strakes (DRIFT 2, by simulation
there)."""

PRIOR_FREEDOM = 4.0
FARTHEST = 8.0
"""A standardised value is held to this; beyond it the tail of the t distribution has no digits left."""


@dataclass(frozen=True)
class CutStrake:
    """One strake as one number: the mean of its deviations over the stations where it was read, and each of
    them."""

    strake: Strake
    mean_mm: float
    read: tuple[tuple[str, HungWidth], ...]


@dataclass(frozen=True)
class Habit:
    """What the strakes in the order of cutting say of the hand: chart, alarms, bias and scatter with their
    bars.

    `alarms` are the places in the series (counted from nought) where the chart passed its limit;
    `standardised` the values it was drawn from. The interval of the bias is None for fewer than two strakes.
    """

    chart: Cusum
    standardised: tuple[float, ...]
    alarms: tuple[int, ...]
    bias_mm: float
    bias_low_mm: float | None
    bias_high_mm: float | None
    scatter_mm: float
    scatter_low_mm: float
    scatter_high_mm: float
    sentence: str


def habit(deviations_mm: Sequence[float], *, scatter_mm: float = 0.06) -> Habit:
    """Return whether the cutting runs to one side: a two-sided CUSUM on one number a strake.

    d_i is the mean deviation of strake i over its stations. Its scale is learned from the strakes before it,

        s_i^2 = (nu0 s0^2 + SS before i about their mean) / (nu0 + max(i - 2, 0)),   z_i = Phi^-1(F_t(d_i /
        s_i)),

    so that one chart serves every hand; slack 0.417 (half a shift of 0.05 in 0.06), limit 4.80, nu0 = 4
    (DRIFT 2: a false alarm every 205 strakes, a habit of 0.05 found in 13.9 on average). After an alarm the
    sum counts from nought. Bias interval: Student t; scatter interval: chi-square with the prior's freedom.
    Raises PlankingError for a deviation that is not a number.

    >>> habit([0.09] * 8).alarms
    (4,)
    """
    if not math.isfinite(scatter_mm) or scatter_mm <= 0:
        raise PlankingError("scatter_mm", "The cutting scatter is a length above nought.")
    if any(not math.isfinite(value) for value in deviations_mm):
        raise PlankingError("deviations_mm", "A deviation is not a number.")
    standardised = _standardised(deviations_mm, scatter_mm)
    chart = cusum(standardised, slack=SLACK, limit=LIMIT, restart=True)
    alarms = tuple(sorted({*chart.high_alarms, *chart.low_alarms}))
    mean, low, high = _bias(deviations_mm, scatter_mm)
    scatter, least, most = _scatter(deviations_mm, scatter_mm)
    told = _told_of_habit(deviations_mm, alarms, mean)
    return Habit(chart, standardised, alarms, mean, low, high, scatter, least, most, told)


def _standardised(deviations: Sequence[float], prior: float) -> tuple[float, ...]:
    from scipy.special import ndtri, stdtr

    found = []
    for index, value in enumerate(deviations):
        before = deviations[:index]
        mean = sum(before) / index if index else 0.0
        freedom = PRIOR_FREEDOM + max(index - 1, 0)
        s2 = (PRIOR_FREEDOM * prior**2 + sum((one - mean) ** 2 for one in before)) / freedom
        score = float(ndtri(stdtr(freedom, value / math.sqrt(s2))))
        found.append(min(max(score, -FARTHEST), FARTHEST))
    return tuple(found)


def _bias(deviations: Sequence[float], prior: float) -> tuple[float, float | None, float | None]:
    from scipy.special import stdtrit

    count = len(deviations)
    if not count:
        return 0.0, None, None
    mean = sum(deviations) / count
    if count < 2:
        return mean, None, None
    squares = sum((one - mean) ** 2 for one in deviations)
    freedom = PRIOR_FREEDOM + count - 1
    error = math.sqrt((PRIOR_FREEDOM * prior**2 + squares) / freedom / count)
    half = float(stdtrit(freedom, 0.975)) * error
    return mean, mean - half, mean + half


def _scatter(deviations: Sequence[float], prior: float) -> tuple[float, float, float]:
    from scipy.special import chdtri

    count = len(deviations)
    mean = sum(deviations) / count if count else 0.0
    freedom = PRIOR_FREEDOM + max(count - 1, 0)
    total = PRIOR_FREEDOM * prior**2 + sum((one - mean) ** 2 for one in deviations)
    low, high = float(chdtri(freedom, 0.025)), float(chdtri(freedom, 0.975))
    return math.sqrt(total / freedom), math.sqrt(total / low), math.sqrt(total / high)


def _told_of_habit(deviations: Sequence[float], alarms: tuple[int, ...], mean: float) -> str:
    if not alarms:
        return "No habit shows." if deviations else "Nothing was cut yet."
    since = deviations[alarms[-1] :]
    way = "wide" if since[0] > 0 else "narrow"
    told = f"Readings run {way}: {words.mm(abs(mean))} a strake over {words.count(len(deviations), 'strake')}"
    return f"{told}; check the instrument's zero on a block, then the cutting."


def notes(opening: Opening) -> tuple[Note, ...]:
    """Return what is worth a word about the cutting, belt by belt; words are not alarms.

    From the third strake of one sign, when the sum exceeds its own doubt, a run of one sign is told as a
    note (two are told as no habit yet); five of five make a habit, and the zero is asked for before the saw
    is blamed. Source: DECISIONS 3.
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
    return [Note("habit", sentence, labels, value_mm=found.bias_mm)]


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
    sentence = _sentence(opening, belt, streak, sums, places)
    labels = tuple(one.strake.label for one in streak)
    return Note(kind, sentence, labels, tuple(places), total, doubt)


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
) -> str:
    side, way = opening.side.capitalize(), "wide" if streak[0].mean_mm > 0 else "narrow"
    labels = [one.strake.label for one in streak]
    if len(streak) == 2:
        place = places[-1]
        mean = sums[place] / sum(any(name == place for name, _ in one.read) for one in streak)
        about = f"{side} {words.listed(labels)} are both {way}, about {words.mm(abs(mean))}."
        return f"{about} Two is not yet a habit."
    name = belt[0].strake.belt
    who = f"{side} {name.lower()} belt" if name else f"{side} run from the {belt[0].strake.run}"
    told = f"{who}: {len(streak)} of {len(belt)} {way}, together "
    told += ", ".join(f"{words.mm(abs(sums[place]))} at {words.station(place)}" for place in places)
    return told + _what_follows(opening, belt, streak, sums, places) + _ask_first(opening, streak)


def _what_follows(
    opening: Opening,
    belt: tuple[CutStrake, ...],
    streak: Sequence[CutStrake],
    sums: dict[str, float],
    places: list[str],
) -> str:
    first = belt[0].strake
    to_come = [
        one for one in opening.strakes if one.belt == first.belt and one.run == first.run and not one.is_hung
    ]
    if first.belt is None or not to_come:
        return "; it is carried on to the strakes left."
    last = to_come[0] if first.run == "wale" else to_come[-1]
    rates = []
    for place in places:
        read = sum(any(name == place for name, _ in one.read) for one in streak)
        coming = sum(place in one.planned_mm for one in to_come)
        rates.append(words.mm(abs(sums[place] / read * (read + coming))))
    return f"; at this rate {words.listed(rates)} by strake {last.label}."


def _ask_first(opening: Opening, streak: Sequence[CutStrake]) -> str:
    if len(streak) < HABIT_OF:
        return " A note, not an alarm."
    epochs = {width.epoch for one in streak for _, width in one.read if width.epoch is not None}
    names = sorted({opening.epoch_by_name[epoch].instrument for epoch in epochs})
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
