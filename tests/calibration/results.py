"""Rows of the tables: each share with its 95 % interval, so that nobody reads more into a figure than is
there."""

from collections.abc import Callable, Sequence

import numpy as np
from scipy.special import betaincinv

from tests.calibration.play import ASKED_AT, Played
from tests.calibration.simulator import Truth


def share(hits: int, number: int) -> str:
    """A share in per cent with its 95 % interval (Clopper and Pearson, from memory)."""
    low = betaincinv(hits, number - hits + 1, 0.025) if hits else 0.0
    high = betaincinv(hits + 1, number - hits, 0.975) if hits < number else 1.0
    return f"{100 * hits / number:.2f} ({100 * low:.2f}-{100 * high:.2f})"


def headed(head: str) -> Callable[[Callable[..., str]], Callable[..., str]]:
    """Give a row its table's head."""

    def give(row: Callable[..., str]) -> Callable[..., str]:
        columns = head.count("|") - 1
        row.head = head + "\n" + "|---" * columns + "|"  # type: ignore[attr-defined]
        return row

    return give


def _covered(
    asked: Sequence[Sequence[tuple[int, np.ndarray, np.ndarray, np.ndarray]]], at: int
) -> tuple[float, float]:
    inside, halves = [], []
    for one in asked:
        _, true, mean, half = next(found for found in one if found[0] == at)
        inside.append(np.abs(true - mean) <= half)
        halves.append(half)
    return 100 * float(np.mean(inside)), float(np.mean(halves))


@headed(
    "| truth | openings | gap covered, % after 6, 10, 14, 18 | half-widths, mm "
    "| closing strake covered, % after 6, 10, 14, 18 | half-widths, mm | standard error, % |"
)
def coverage_row(truth: Truth, found: Sequence[Played]) -> str:
    room = [_covered([one.gap for one in found], at) for at in ASKED_AT]
    closing = [_covered([one.closing for one in found], at) for at in ASKED_AT]
    by_opening = [np.mean(np.abs(t - m) <= h) for one in found for _, t, m, h in one.gap if _ == 10]
    error = 100 * float(np.std(by_opening)) / np.sqrt(len(found))
    cells = [
        " ".join(f"{covered:.1f}" for covered, _ in room),
        " ".join(f"{half:.2f}" for _, half in room),
        " ".join(f"{covered:.1f}" for covered, _ in closing),
        " ".join(f"{half:.2f}" for _, half in closing),
        f"{error:.1f}",
    ]
    return f"| {truth.name} | {len(found)} | " + " | ".join(cells) + " |"


@headed("| truth | openings | wrong at some station, % | **wrong by two neighbours, %** | said at all, % |")
def verdict_row(truth: Truth, found: Sequence[Played]) -> str:
    number = len(found)
    hits = [
        sum(one.false_change_station for one in found),
        sum(one.false_change for one in found),
        sum(one.said_change for one in found),
    ]
    return f"| {truth.name} | {number} | " + " | ".join(share(hit, number) for hit in hits) + " |"


@headed(
    "| policy | openings | sd of e, mm | e > .3, % | **e > .5, %** | step > .3, % | step > .5, % "
    "| largest change, median / 99 %, mm | recuts | openings with a needless one, % |"
)
def closed_loop_row(name: str, found: Sequence[Played]) -> str:
    number = len(found)
    errors = np.array([one.closing_error for one in found])
    worst = np.abs(errors).max(axis=1)
    step = np.array([one.step_error.max() for one in found])
    change = np.percentile([one.largest_change for one in found], [50, 99])
    cells = [f"{errors.std():.3f}"]
    cells += [share(int((worst > limit).sum()), number) for limit in (0.3, 0.5)]
    cells += [share(int((step > limit).sum()), number) for limit in (0.3, 0.5)]
    cells += [f"{change[0]:.2f} / {change[1]:.2f}", f"{np.mean([one.recuts for one in found]):.1f}"]
    cells.append(share(sum(one.needless > 0 for one in found), number))
    return f"| {name} | {number} | " + " | ".join(cells) + " |"
