"""One opening played from the first strake to the closing one, advised by planking's public functions
alone."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from planking import estimate
from planking.closing_strake import closing_strake
from planking.drift import review
from planking.habit import habit
from planking.ledger_tables import Habits
from planking.opening import Opening
from planking.recut import card_widths, is_offered, recut
from tests.calibration.simulator import CLOSING, ORDER, SEAM, STATIONS, STRAKES, Hull, Truth

Array = NDArray[np.float64]

ASKED_AT = (6, 10, 14, 18)
FIRST_JUDGED = 5
"""Before a quarter is hung what is forgiven is many times the doubt, and the verdict is not asked."""


@dataclass(frozen=True)
class Policy:
    """What the builder does with the advice: when the gap is read, what is followed, whether the last two
    are trimmed."""

    name: str
    checks: tuple[int, ...] = (0, 5, 10, 15, 18)
    recuts: bool = True
    habit_off: bool = True
    trims: bool = False
    every_strake: bool = False
    oracle: bool = False
    judges: bool = False


JUDGE_ONLY = Policy("judge only", recuts=False, habit_off=False, judges=True)
ADVISED = Policy("five checks, recut at 1 %, habit off")
TRIMMED = Policy("the same, last two trimmed", trims=True)
LEFT_ALONE = Policy("left alone", checks=(), recuts=False, habit_off=False)
WIDTHS_ONLY = Policy("widths only", checks=(), habit_off=False)
ORACLE = Policy("oracle: gap and habit known", checks=(), oracle=True)


@dataclass
class Played:
    """What came of one opening: mm throughout; a row a station where it is an array."""

    closing_error: Array = field(default_factory=lambda: np.zeros(STATIONS))
    step_error: Array = field(default_factory=lambda: np.zeros(STATIONS))
    recuts: int = 0
    needless: int = 0
    largest_change: float = 0.0
    gap: list[tuple[int, Array, Array, Array]] = field(default_factory=list)
    closing: list[tuple[int, Array, Array, Array]] = field(default_factory=list)
    false_change: bool = False
    false_change_station: bool = False
    said_change: bool = False


def play(truth: Truth, policy: Policy, seed: int) -> Played:
    """Play one opening. The same seed draws the same girth, hand and instruments for every policy."""
    hull = Hull(truth, np.random.default_rng(seed))
    played = Played()
    for number in range(STRAKES - 1):
        if number in policy.checks:
            hull.read_gap()
        if policy.oracle:
            _advise_all_knowing(hull)
        aim = _advised_aim(hull, policy, played, number)
        left_after = STRAKES - number - 1
        hull.hang(aim, trimmed=policy.trims and left_after in (1, 2))
    if STRAKES - 1 in policy.checks:
        hull.read_gap()
    made = hull.closing_as_made()
    played.closing = [(number, made, mean, half) for number, _, mean, half in played.closing]
    played.closing_error = made - hull.first_plan[:, CLOSING]
    neighbours = [made - hull.true[:, CLOSING + side] for side in (-1, 1)]
    played.step_error = np.max(np.abs(neighbours), axis=0)
    return played


def _advised_aim(hull: Hull, policy: Policy, played: Played, number: int) -> Array:
    at = ORDER[number]
    if policy.oracle:
        return hull.plan[:, at] - hull.run_habit[0 if at > CLOSING else 1] - hull.local_habit
    if not (policy.recuts or policy.habit_off or policy.judges):
        return hull.plan[:, at].copy()
    opening = hull.opening()
    solved = estimate.ledger(opening)
    if policy.judges:
        _judge(hull, opening, solved, played, number)
    if policy.recuts and (policy.every_strake or is_offered(opening, solved)[0]):
        _recut(hull, opening, solved, played)
        opening = hull.opening()
    if not policy.habit_off:
        return hull.plan[:, at].copy()
    card = card_widths(opening, str(at), solved=solved)
    return np.array([one.cut_to_mm for one in card])


def _recut(hull: Hull, opening: object, solved: estimate.Ledger, played: Played) -> None:
    found = recut(solved.opening, "fair", solved=solved)
    left = [at for at in range(STRAKES) if at not in hull.hung]
    before = hull.plan.copy()
    for one in found.widths:
        hull.plan[int(one.station[1:]), int(one.strake)] = one.wanted_mm
    change = np.abs(hull.plan - before).max()
    if change < 0.005:
        return
    played.recuts += 1
    played.largest_change = max(played.largest_change, float(np.abs(hull.plan - hull.first_plan).max()))
    true_room = hull.room() - (len(left) + 1) * hull.seam
    needed = np.abs(before[:, left].sum(axis=1) - true_room) / len(left)
    if needed.max() <= 0.02 and change > 0.02:
        played.needless += 1


def _judge(hull: Hull, opening: object, solved: estimate.Ledger, played: Played, number: int) -> None:
    left = STRAKES - number
    true_room = hull.room() - (left + 1) * hull.seam
    if number in ASKED_AT:
        found = estimate.gap(solved)
        played.gap.append((number, hull.room(), found.mean, 1.96 * found.u))
        told = closing_strake(solved.opening, solved=solved)
        mean = np.array([one.expected_mm for one in told.stations])
        half = np.array([one.high_mm - one.expected_mm for one in told.stations])
        played.closing.append((number, np.zeros(STATIONS), mean, half))
    if number < FIRST_JUDGED:
        return
    said = review(solved.opening, solved=solved)
    planned = hull.plan[:, [at for at in range(STRAKES) if at not in hull.hung]].sum(axis=1)
    beyond = np.abs(planned - true_room)
    at_station = [one.verdict == "change_plan" for one in said.stations]
    wrong = [is_said and beyond[s] <= said.stations[s].capacity_mm for s, is_said in enumerate(at_station)]
    played.false_change_station |= any(wrong)
    pairs = [wrong[s] and wrong[s + 1] for s in range(STATIONS - 1)]
    played.false_change |= said.verdict == "change_plan" and any(pairs)
    played.said_change |= said.verdict == "change_plan"


def half_widths(seed: int) -> tuple[Array, Array]:
    """The gap's mean half-width after 6, 10, 14 and 18 strakes: one ledger an opening, and one a station."""
    hull = Hull(Truth(), np.random.default_rng(seed))
    still = Habits(zero_step_mm=0.0)
    together, alone = [], []
    for number in range(STRAKES - 1):
        if number in (0, 5, 10, 15):
            hull.read_gap()
        if number in ASKED_AT:
            opening = hull.opening()
            together.append(1.96 * estimate.gap(estimate.ledger(opening, still)).u.mean())
            each = [estimate.gap(estimate.ledger(at_one(opening, s), still)).u[0] for s in range(STATIONS)]
            alone.append(1.96 * float(np.mean(each)))
        hull.hang(hull.plan[:, ORDER[number]].copy())
    return np.array(together), np.array(alone)


def at_one(opening: Opening, at: int) -> Opening:
    """The opening as if one station were all of it."""
    name = opening.stations[at].name

    def here(widths: Mapping[str, float] | None) -> dict[str, float] | None:
        return None if widths is None else {name: widths[name]}

    strakes = tuple(
        replace(one, planned_mm=here(one.planned_mm), cut_to_mm=here(one.cut_to_mm), aim_mm=here(one.aim_mm))
        for one in opening.strakes
    )
    return replace(
        opening,
        stations=(opening.stations[at],),
        strakes=strakes,
        girth_planned_mm=here(opening.girth_planned_mm),
        widths=tuple(one for one in opening.widths if one.station == name),
        gaps=tuple(one for one in opening.gaps if one.station == name),
        girths=tuple(one for one in opening.girths if one.station == name),
    )


def first_alarm(seed: int, bias: float, sigma: float, length: int) -> int:
    """Strakes until the chart of habit alarms, cut off at a length."""
    series = bias + sigma * np.random.default_rng(seed).normal(size=length)
    return next(iter(habit(series.tolist()).alarms), length - 1) + 1


def _advise_all_knowing(hull: Hull) -> None:
    left = [at for at in range(STRAKES) if at not in hull.hung]
    room = hull.room() - (len(left) + 1) * hull.seam
    hull.plan[:, left] += ((room - hull.plan[:, left].sum(axis=1)) / len(left))[:, None]


__all__ = ["ADVISED", "JUDGE_ONLY", "LEFT_ALONE", "ORACLE", "SEAM", "TRIMMED", "WIDTHS_ONLY", "play"]
