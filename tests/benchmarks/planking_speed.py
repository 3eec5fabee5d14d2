"""Time and memory of the arithmetic, as ratios to the bare numpy or scipy work inside it, in one and the
same run.

    python -m tests.benchmarks.planking_speed

Median of 20 after 3 of processor time, one thread. Writes its table into tests/benchmarks/RESULTS.md.
"""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import resource
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from scipy.sparse import bmat, identity
from scipy.sparse.linalg import splu

from planking import estimate, fair, slips
from planking.drift import review
from planking.ledger_rows import rows_of
from planking.ledger_tables import doubts_of
from planking.opening import Epoch, GapReading, GirthReading, Limits, Opening, Station, Strake, WidthReading
from planking.recut import recut
from tests.planking.brig import brig

RESULTS = Path(__file__).with_name("RESULTS.md")
HEAD, FOOT = "<!-- arithmetic: begin -->", "<!-- arithmetic: end -->"


def cpu_ms(work: Callable[[], object], times: int = 20) -> float:
    """Median processor time of one call, after three that do not count."""
    found = []
    for _ in range(3 + times):
        began = time.process_time_ns()
        work()
        found.append((time.process_time_ns() - began) / 1e6)
    return float(np.median(found[3:]))


def large(stations: int = 60, strakes: int = 20, *, hung: int = 20, unread: float = 0.0) -> Opening:
    """An opening of 60 stations and 20 strakes, every width read, four gap checks."""
    draw = np.random.default_rng(4)
    names = [f"S{n}" for n in range(stations)]
    rows = tuple(
        Strake(
            str(n),
            "keel" if n < strakes / 2 else "wale",
            {name: 5.0 + 0.02 * (n - 10) + 0.2 * float(np.sin(s / 9)) for s, name in enumerate(names)},
            state="hung" if n < hung else "open",
            hung_order=n + 1 if n < hung else None,
        )
        for n in range(strakes)
    )
    girths = {name: sum(one.planned_mm[name] for one in rows) + 0.63 for name in names}
    widths = tuple(
        WidthReading(one.label, name, one.planned_mm[name] + 0.06 * float(draw.normal()), "A")
        for one in rows[:hung]
        for name in names
        if draw.random() >= unread
    )
    gaps = tuple(
        GapReading(name, max(0.0, girths[name] - 5.03 * k), frozenset(str(n) for n in range(k)), 0.1)
        for k in (0, 5, 10, 15)
        if k <= hung
        for name in names
    )
    return Opening(
        "port",
        tuple(Station(name, 10.0 * s + 3 * (s % 3)) for s, name in enumerate(names)),
        rows,
        girth_planned_mm=girths,
        widths=widths,
        gaps=gaps,
        girths=tuple(GirthReading(name, girths[name], 0.25) for name in names),
        epochs=(Epoch("A", "caliper", 0.02, 0.02),),
    )


def ledger_row(name: str, opening: Opening) -> str:
    solved = estimate.ledger(opening)
    stacked = np.linalg.inv(solved.tables.inverse), solved.tables.shared
    prior = np.linalg.inv(solved.covariance)

    def bare() -> object:
        through = np.linalg.solve(*stacked)
        return np.linalg.inv(prior + np.einsum("smi,smj->ij", stacked[1], through))

    def ours() -> object:
        found = estimate.solve(opening, rows_of(opening))
        slips.slip_scores(found)
        return estimate.room(found), estimate.habit_here(found, "wale")

    mine, floor = cpu_ms(ours), cpu_ms(bare)
    size = f"{len(opening.stations)} x {doubts_of(solved.rows).shape[1]} rows, {len(solved.shared)} shared"
    what = f"ledger, {name} ({size}): rows, solve, slip test, two answers a station"
    return f"| {what} | {mine:.1f} | {floor:.1f} | {mine / floor:.1f} | 5 |"


def recut_rows() -> list[str]:
    opening = large(hung=0, unread=0.0)
    lines = []
    for name, limits in (("no limit reached", Limits()), ("stock of 5.1 mm", Limits(stock_width_mm=5.1))):
        one = Opening(**{**vars_of(opening), "limits": limits})
        solved = estimate.ledger(one)
        problem = problem_of(one, solved)
        found = fair.solve(problem)
        held = int((np.minimum(found.x - problem.lowest, problem.highest - found.x) < 1e-9).sum())
        kkt = bmat(
            [[problem.hessian, problem.sums.T], [problem.sums, -1e-10 * identity(problem.sums.shape[0])]],
            format="csc",
        )
        right = np.concatenate([problem.gradient, problem.totals])
        mine, floor = cpu_ms(lambda p=problem: fair.solve(p)), cpu_ms(lambda k=kkt, r=right: splu(k).solve(r))
        whole = cpu_ms(lambda o=one, s=solved: recut(o, "fair", solved=s), 5)
        told = f"{found.rounds} rounds, {held} widths at a limit (whole recut {whole:.0f} ms)"
        bare = floor * found.rounds
        lines.append(
            f"| fair solver, 20 x 60, {name}: {told} | {mine:.1f} | {bare:.1f} | {mine / bare:.1f} | 3 |"
        )
    return lines


def vars_of(opening: Opening) -> dict[str, object]:
    return {key: value for key, value in vars(opening).items() if key in Opening.__dataclass_fields__}


def problem_of(opening: Opening, solved: estimate.Ledger) -> fair.Problem:
    """The problem that a fair recut of this opening hands to the solver, its totals drawn to meet the
    limits."""
    kept: list[fair.Problem] = []
    solve = fair.solve

    def keep(problem: fair.Problem) -> fair.Fair:
        kept.append(problem)
        return solve(problem)

    fair.solve = keep
    try:
        recut(opening, "fair", solved=solved)
    finally:
        fair.solve = solve
    return kept[0]


def main() -> int:
    lines = [
        HEAD,
        "## The arithmetic",
        "",
        "`python -m tests.benchmarks.planking_speed`: processor time, one thread, median of 20 after 3; "
        "*floor* is the bare numpy or scipy work on the same matrices in the same run.",
        "",
        "| what | ms | floor, ms | ratio | goal under |",
        "|---|---|---|---|---|",
        ledger_row("every station read alike", large()),
        ledger_row("20 % not read, every station different", large(unread=0.2)),
        *recut_rows(),
    ]
    sample = brig("port")
    review(sample)
    lines.append(
        f"| whole review of the sample hull's port side | {cpu_ms(lambda: review(sample)):.1f} | | | 30 ms |"
    )
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    big = large(unread=0.2)
    review(big)
    recut(large(hung=10), "fair")
    grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024
    lines.append(
        f"| growth of peak memory over a review and a recut of 60 x 20, MB | {grown:.0f} | | | 60 MB |"
    )
    lines += ["", f"numpy {np.__version__}, Python {sys.version.split()[0]}.", FOOT]
    write("\n".join(lines))
    print("\n".join(lines[1:-1]))
    return 0


def write(table: str) -> None:
    """Put the table in its place in RESULTS.md and leave what others wrote there."""
    text = RESULTS.read_text(encoding="utf-8") if RESULTS.exists() else "# Benchmarks\n"
    if HEAD in text:
        text = text[: text.index(HEAD)] + table + text[text.index(FOOT) + len(FOOT) :]
    else:
        text = text.rstrip() + "\n\n" + table + "\n"
    RESULTS.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    raise SystemExit(main())
