"""Measure the ledger over invented openings and write RESULTS.md.

python -m tests.calibration                 the full form: hours of one core; writes
tests/calibration/RESULTS.md python -m tests.calibration --short         the form that the test suite runs,
in under two minutes python -m tests.calibration --openings 500  any other size
"""

import argparse
import os
import sys
import time
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

import numpy as np

from tests.calibration import play
from tests.calibration.results import closed_loop_row, coverage_row, verdict_row
from tests.calibration.simulator import CLASSES, Truth

HERE = Path(__file__).parent
POLICIES = (play.LEFT_ALONE, play.WIDTHS_ONLY, play.ADVISED, play.TRIMMED, play.ORACLE)


def played(truth: Truth, policy: play.Policy, seeds: Iterable[int], workers: int) -> list[play.Played]:
    """Play one opening a seed, on as many cores as are given."""
    one = partial(play.play, truth, policy)
    if workers == 1:
        return [one(seed) for seed in seeds]
    with ProcessPoolExecutor(workers) as pool:
        return list(pool.map(one, seeds, chunksize=16))


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.calibration", description=__doc__)
    parser.add_argument("--short", action="store_true", help="a few openings of each; prints, writes nothing")
    parser.add_argument("--openings", type=int, default=0, help="openings a policy as stated")
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--part", choices=("all", *PARTS), default="all")
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    openings = given.openings or (40 if given.short else 4000)
    started = time.process_time()
    few = max(openings // 10, 4)
    lines = [f"Seed {given.seed}, {openings} openings a policy as stated, {few} of each class else."]
    seeds = range(given.seed * 1_000_000, given.seed * 1_000_000 + openings)
    for name, part in PARTS.items():
        if given.part in ("all", name):
            lines += part(seeds, given.workers)
    lines.append(
        f"\nProcessor time of this process {time.process_time() - started:.0f} s; numpy {np.__version__}."
    )
    print("\n".join(lines))
    if not given.short:
        (HERE / f"measured_{given.part}.md").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return 0


def coverage(seeds: range, workers: int) -> list[str]:
    """Tables of (a), (b) and (c): intervals and verdicts, the builder not following any advice but the
    checks."""
    lines = ["\n## Intervals and verdicts, nobody recutting\n", coverage_row.head]
    verdicts = [verdict_row.head]
    for truth in CLASSES:
        few = seeds if truth is CLASSES[0] else seeds[: max(len(seeds) // 4, 4)]
        found = played(truth, play.JUDGE_ONLY, few, workers)
        lines.append(coverage_row(truth, found))
        verdicts.append(verdict_row(truth, found))
        print(lines[-1], verdicts[-1], sep="\n", file=sys.stderr, flush=True)
    return [*lines, "\n## *Change the plan* said wrongly\n", *verdicts]


def loop(seeds: range, workers: int) -> list[str]:
    """Table of (e): the closed loop as stated, beside the same openings left alone, by widths only, by an
    oracle."""
    lines = ["\n## Closed loop, truth as stated\n", closed_loop_row.head]
    for policy in POLICIES:
        # One that misses nine times in ten needs no thousands to be told.
        some = seeds[: max(len(seeds) // 8, 4)] if policy is play.WIDTHS_ONLY else seeds
        lines.append(closed_loop_row(policy.name, played(CLASSES[0], policy, some, workers)))
        print(lines[-1], file=sys.stderr, flush=True)
    return lines


def classes(seeds: range, workers: int) -> list[str]:
    """Table of (e) over all ten classes of truth."""
    lines = ["\n## Closed loop, all ten classes together\n", closed_loop_row.head]
    few = seeds[: max(len(seeds) // 10, 4)]
    for policy in (play.ADVISED, play.TRIMMED):
        together: list[play.Played] = []
        for truth in CLASSES:
            found = played(truth, policy, few, workers)
            together += found
            lines.append(closed_loop_row(f"{policy.name}: {truth.name}", found))
            print(lines[-1], file=sys.stderr, flush=True)
        lines.append(closed_loop_row(f"**{policy.name}: all ten**", together))
    return lines


def narrower(seeds: range, workers: int) -> list[str]:
    """Table of (b): the gap's half-width by one ledger an opening, against one a station, the zero not
    creeping."""
    few = seeds[: max(len(seeds) // 40, 4)]
    rows = [play.half_widths(seed) for seed in few]
    wide, alone = np.mean([row[0] for row in rows], axis=0), np.mean([row[1] for row in rows], axis=0)
    lines = ["\n## One ledger an opening against one a station, the zero not creeping\n"]
    lines.append(
        f"| gap's half-width, mm, {len(few)} openings | "
        + " | ".join(f"after {at}" for at in play.ASKED_AT)
        + " |"
    )
    lines.append("|---" * 5 + "|")
    lines.append("| one ledger an opening | " + " | ".join(f"{value:.3f}" for value in wide) + " |")
    lines.append("| one ledger a station | " + " | ".join(f"{value:.3f}" for value in alone) + " |")
    lines.append(
        "| narrower by, % | " + " | ".join(f"{value:.0f}" for value in 100 * (1 - wide / alone)) + " |"
    )
    return lines


def habits(seeds: range, workers: int) -> list[str]:
    """Table of (d): strakes until a habit of 0.05 mm is found, and until a false alarm."""
    lines = [
        "\n## The chart of habit\n",
        "| scatter, mm | habit, mm | paths | mean strakes to an alarm (95 %) |",
        "|---|---|---|---|",
    ]
    for sigma, habit, length in ((0.06, 0.05, 200), (0.06, 0.0, 1500), (0.04, 0.0, 1500), (0.09, 0.0, 1500)):
        runs = [play.first_alarm(seed, habit, sigma, length) for seed in seeds[: len(seeds)]]
        error = 1.96 * float(np.std(runs)) / len(runs) ** 0.5
        mean = float(np.mean(runs))
        lines.append(
            f"| {sigma} | {habit} | {len(runs)} | {mean:.1f} ({mean - error:.1f}-{mean + error:.1f}) |"
        )
    return lines


PARTS = {"coverage": coverage, "narrower": narrower, "habit": habits, "loop": loop, "classes": classes}


if __name__ == "__main__":
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    raise SystemExit(main())
