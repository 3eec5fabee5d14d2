"""What the last three strakes gain: `python -m tests.calibration.last_three --truth 0 --openings 170 --seed 2`.

One opening is played to three strakes left, once; from there it goes on in every way asked about, so that what
differs is only what is done with the last three. A further gap check draws more readings, so those rows share
their first seventeen strakes but not the luck of the last.
"""

import argparse
import copy
from dataclasses import dataclass

import numpy as np

from planking import estimate
from planking.recut import card_widths, left_to_cut, recut
from tests.calibration.play import Played
from tests.calibration.results import closed_loop_row
from tests.calibration.simulator import CLASSES, CLOSING, ORDER, STRAKES, Hull

LAST = 3
CHECKS = (0, 5, 10, 15, 18)


@dataclass(frozen=True)
class Way:
    """What is done with the last three: the least shortage a strake that is recut, trimming, one more gap check."""

    name: str
    least_mm: float = 0.0
    trims: bool = False
    one_more_check: bool = False


WAYS = (
    Way("always recut"),
    Way("always recut, trimmed", trims=True),
    Way("recut over 0.02 mm", least_mm=0.02),
    Way("recut over 0.02 mm, trimmed", least_mm=0.02, trims=True),
    Way("recut over 1 %", least_mm=0.05),
    Way("recut over 1 %, trimmed", least_mm=0.05, trims=True),
    Way("always recut, gap read with three left", one_more_check=True),
)


def hang_next(hull: Hull, number: int, played: Played, way: Way) -> None:
    """Read the gap where it is due, recut where the way says so, and hang one strake."""
    left = STRAKES - number
    if number in CHECKS or (left == LAST and way.one_more_check):
        hull.read_gap()
    opening = hull.opening()
    solved = estimate.ledger(opening)
    table = left_to_cut(opening, solved)
    each = np.abs(table.planned.sum(axis=1) - table.room) / left
    if (each > (way.least_mm if left <= LAST else 0.01 * table.planned.mean(axis=1))).any():
        make_new_widths(hull, solved, played)
        opening = hull.opening()
    card = card_widths(opening, str(ORDER[number]), solved=solved)
    hull.hang(np.array([one.cut_to_mm for one in card]), trimmed=way.trims and left - 1 in (1, 2))


def make_new_widths(hull: Hull, solved: estimate.Ledger, played: Played) -> None:
    """Put the recut in force, and keep whether it was needed."""
    left = [at for at in range(STRAKES) if at not in hull.hung]
    before = hull.plan.copy()
    for one in recut(solved.opening, "fair", solved=solved).widths:
        hull.plan[int(one.station[1:]), int(one.strake)] = one.wanted_mm
    change = np.abs(hull.plan - before).max()
    if change < 0.005:
        return
    true_room = hull.room() - (len(left) + 1) * hull.seam
    needed = np.abs(before[:, left].sum(axis=1) - true_room) / len(left)
    played.recuts += 1
    played.needless += bool(needed.max() <= 0.02 and change > 0.02)
    played.largest_change = max(played.largest_change, float(np.abs(hull.plan - hull.first_plan).max()))


def play(truth: int, seed: int) -> list[Played]:
    """Return one opening ended in every way."""
    hull, played, ended = Hull(CLASSES[truth], np.random.default_rng(seed)), Played(), []
    for number in range(STRAKES - LAST):
        hang_next(hull, number, played, WAYS[0])
    for way in WAYS:
        own, told = copy.deepcopy(hull), copy.deepcopy(played)
        for number in range(STRAKES - LAST, STRAKES - 1):
            hang_next(own, number, told, way)
        made = own.closing_as_made()
        told.closing_error = made - own.first_plan[:, CLOSING]
        told.step_error = np.max([np.abs(made - own.true[:, CLOSING + side]) for side in (-1, 1)], axis=0)
        ended.append(told)
    return ended


def main() -> None:
    asked = argparse.ArgumentParser(prog="python -m tests.calibration.last_three")
    asked.add_argument("--truth", type=int, default=0, help="which of the ten classes of truth, from 0")
    asked.add_argument("--openings", type=int, default=100)
    asked.add_argument("--seed", type=int, default=1)
    told = asked.parse_args()
    seeds = range(told.seed * 1_000_000, told.seed * 1_000_000 + told.openings)
    ended = [play(told.truth, seed) for seed in seeds]
    print(f"{CLASSES[told.truth].name}, seed {told.seed}\n\n{closed_loop_row.head}")
    for at, way in enumerate(WAYS):
        print(closed_loop_row(way.name, [one[at] for one in ended]))


if __name__ == "__main__":
    main()
