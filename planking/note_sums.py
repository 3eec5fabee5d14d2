"""The sums behind the notes: each figure that a note says, line by line, for who follows it by hand."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from planking import words
from planking.habit import LIMIT, SLACK, Habit
from planking.line_by_line import group, heading, note, term
from planking.reviewed import SumLine


@dataclass(frozen=True)
class RunStrake:
    """One strake of a run of one sign: its mean off the plan over the stations read, and each of them, mm."""

    label: str
    mean_mm: float
    read_mm: Mapping[str, float]


@dataclass(frozen=True)
class Rate:
    """What a run comes to at one station: read so far over so many strakes, and with those still to come, mm."""

    station: str
    sum_mm: float
    read: int
    coming: int

    @property
    def by_then_mm(self) -> float:
        """Return the sum once the strakes to come are cut as those before them: sum / read x (read + coming)."""
        return self.sum_mm / self.read * (self.read + self.coming)


def run_sum(
    run: Sequence[RunStrake], places: Sequence[str], rates: Sequence[Rate], doubt_mm: float, times: float
) -> tuple[SumLine, ...]:
    """Return the sum of a run of one sign: at each place named, then over all stations with its doubt.

    `times` is how many of its doubts the sum of the means must exceed to be told.
    """
    lines: list[SumLine] = []
    for place in places:
        parts = [(f"strake {one.label}", one.read_mm[place]) for one in run if place in one.read_mm]
        lines += group(f"Off the plan at {words.station(place)}", parts, "together")
        lines += [_rate(rate) for rate in rates if rate.station == place]
    means = [(f"strake {one.label}", one.mean_mm) for one in run]
    lines += group("The mean of each over its stations", means, "together")
    return (*lines, note(f"It is told {_beyond(doubt_mm, times)}."))


def _beyond(doubt_mm: float, times: float) -> str:
    return f"beyond {times:g} of its doubt of {words.mm(doubt_mm)}, which is {words.mm(times * doubt_mm)}"


def _rate(rate: Rate) -> SumLine:
    of = f"{words.mm(rate.sum_mm)} over {words.count(rate.read, 'strake')}, {rate.coming} more to come"
    return note(f"{of}: {words.mm(rate.by_then_mm)} at this rate.")


def chart_sum(run: Sequence[RunStrake], found: Habit) -> tuple[SumLine, ...]:
    """Return what the chart of habit made of each strake: its score and the two sums after it."""
    lines = [heading("Strake by strake, as they were hung")]
    for one, score, high, low in zip(run, found.standardised, found.chart.high, found.chart.low, strict=True):
        sums = f"wide {high:.2f}, narrow {low:.2f}"
        lines.append(note(f"Strake {one.label}: {words.wide(one.mean_mm)}, score {words.mm(score)}; sums {sums}."))
    way = "A score is the strake's mean in units of the scatter of those before it. A sum adds what the score is over "
    rule = f"{way}{SLACK:g}, never falls below nought, is told over {LIMIT:.2f}, and then begins again."
    return (*lines, note(rule))


@dataclass(frozen=True)
class Stood:
    """What was read or planned at a station and what the other readings foretell, mm; the doubt of the difference."""

    station: str
    is_mm: float
    foretold_mm: float
    u_mm: float


def apart_sum(stood: Sequence[Stood], head: str, after: str) -> tuple[SumLine, ...]:
    """Return how far each station stands from what all else foretells, and by what rule that is told."""
    lines = [heading(head)]
    for one in stood:
        off = words.mm(one.is_mm - one.foretold_mm)
        figures = f"{words.mm(one.is_mm)} less {words.mm(one.foretold_mm)} is {off}"
        lines.append(note(f"At {words.station(one.station)} {figures}, doubt {words.mm(one.u_mm)}."))
    return (*lines, note(after))


def mean_rule(mean_mm: float, u_mm: float, times: float) -> str:
    """Return the rule for all stations together, with its figures."""
    return f"The mean is {words.mm(mean_mm)}; with all that the stations share it is told {_beyond(u_mm, times)}."


def left_over_sum(
    left: Sequence[tuple[str, float, float]], mean_mm: float, u_mm: float, times: float
) -> tuple[SumLine, ...]:
    """Return what is left over for the seams at each station against what the test joints say they take, mm."""
    lines = [heading("Left over for the seams, and what the test joints say they take")]
    for station, over, wanted in left:
        lack = words.mm(wanted - over)
        lines.append(note(f"At {words.station(station)} {words.mm(over)} of {words.mm(wanted)}: {lack} lacking."))
    return (*lines, note(mean_rule(mean_mm, u_mm, times)))


def slip_sum(
    names: tuple[str, str, str], off_mm: tuple[float, float, float], share: float, u_mm: float, times: float
) -> tuple[SumLine, ...]:
    """Return how one width stands off the straight line between its neighbours along the hull, mm.

    `names` and `off_mm` are those of the station before, the one in question and the one after; `share` is
    how far along from the first to the last it lies.
    """
    before, here, after = (words.station(name) for name in names)
    line = (1 - share) * off_mm[0] + share * off_mm[2]
    parts = [
        (f"off the plan at {here}", off_mm[1]),
        (f"less the line from {before} ({words.mm(off_mm[0])}) to {after} ({words.mm(off_mm[2])}) there", -line),
    ]
    told = f"{here} lies {share:.2f} of the way from {before} to {after}. It is told {_beyond(u_mm, times)}."
    return (*group("Along the strake", parts, "stands out by"), note(told[:1].upper() + told[1:]))


def scatter_sum(cut_mm2: float, station_mm2: float, freedom: float, limit_mm: float) -> tuple[SumLine, ...]:
    """Return the two parts of the scatter, as standard deviations in mm; they add by their squares."""
    both = math.sqrt(cut_mm2 + station_mm2)
    return (
        heading("Scatter about the aim"),
        term("of whole strakes", math.sqrt(cut_mm2)),
        term("of a strake at one station", math.sqrt(station_mm2)),
        SumLine("total", "together, by their squares", both, words.mm(both)),
        note(f"Learnt with {freedom:.0f} degrees of freedom; told over {words.mm(limit_mm)}."),
    )
