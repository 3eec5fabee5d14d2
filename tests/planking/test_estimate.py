"""The ledger against a dense solve of the same model, against the closed forms of one station, and on
hostile facts."""

import numpy as np
import pytest

from planking.estimate import disagreement, room, solve
from planking.ledger_groups import Habits
from planking.ledger_rows import rows_of
from planking.opening import (
    EdgeReading,
    Epoch,
    GapReading,
    GirthReading,
    Opening,
    Station,
    Strake,
    WidthReading,
    ZeroCheck,
)
from planking.scatter import scatter_of
from tests.planking.dense_ledger import DenseLedger


def drawn(seed: int) -> Opening:
    """An opening with everything a log may hold: drop strakes, missing readings, two epochs, edges, zero
    checks."""
    draw = np.random.default_rng(seed)
    names = [f"S{index}" for index in range(int(draw.integers(1, 6)))]
    number = int(draw.integers(4, 9))
    hung_count = int(draw.integers(0, number))
    labels = [str(index) for index in range(number)]
    order = [label for pair in zip(labels, reversed(labels), strict=True) for label in pair][:number][
        :hung_count
    ]
    order = list(dict.fromkeys(order))
    planned = {
        label: {name: float(draw.uniform(4, 6)) for name in names if draw.random() > 0.1} for label in labels
    }
    cut = [label for label in labels if label not in order][: int(draw.integers(0, 2))]
    strakes = tuple(
        Strake(
            label,
            "keel" if int(label) < number / 2 else "wale",
            planned[label],
            state="hung" if label in order else "cut" if label in cut else "open",
            hung_order=order.index(label) + 1 if label in order else None,
            aim_mm={name: width - 0.02 for name, width in planned[label].items()}
            if draw.random() < 0.5
            else None,
        )
        for label in labels
    )
    girths = {name: sum(planned[label].get(name, 0.0) for label in labels) for name in names}
    epochs = (Epoch("A", "caliper", 0.02, 0.02), Epoch("B", "caliper", 0.02, 0.05, zero_offset_mm=0.01))
    widths = tuple(
        WidthReading(
            label, name, planned[label][name] + float(draw.normal(0, 0.06)), str(draw.choice(["A", "B"]))
        )
        for label in [*order, *cut]
        for name in planned[label]
        if draw.random() > 0.2
    )
    gaps = tuple(
        GapReading(
            name,
            max(
                0.0,
                girths[name]
                - sum(planned[label].get(name, 0.0) for label in order[:k])
                + float(draw.normal(0, 0.2)),
            ),
            frozenset(order[:k]),
            0.1,
            "A" if draw.random() < 0.3 else None,
        )
        for k in range(0, len(order) + 1, 2)
        for name in names
        if draw.random() > 0.3
    )
    edges = tuple(
        EdgeReading("keel", order[0], name, planned[order[0]][name] + 0.05, 0.05)
        for name in names
        if order and order[0] == "0" and name in planned["0"]
    )
    return Opening(
        "port",
        tuple(map(Station, names)),
        strakes,
        girth_planned_mm=girths,
        widths=widths,
        gaps=gaps,
        edges=edges,
        girths=tuple(GirthReading(name, girths[name], 0.25) for name in names if draw.random() < 0.6),
        zero_checks=(ZeroCheck("A", 0.01, 0.01),) if draw.random() < 0.5 else (),
        epochs=epochs,
        keel_line_tight=bool(draw.random() < 0.7),
    )


@pytest.mark.parametrize("seed", range(50))
def test_elimination_agrees_with_one_dense_solve(seed: int) -> None:
    opening = drawn(seed)
    rows = rows_of(opening)
    scatter = scatter_of(opening, rows)

    found = solve(opening, rows, scatter=scatter)
    dense = DenseLedger(opening, scatter, Habits())
    answer = room(found)
    mean, covariance = dense.room()

    # A row that was not read keeps a weight of 1e-8; nothing else parts the two.
    assert answer.mean == pytest.approx(mean, abs=1e-8)
    assert answer.covariance == pytest.approx(covariance, abs=1e-8)
    assert found.seam.mean_mm == pytest.approx(dense.post_mean[dense.index[("seam",)]], abs=1e-8)
    if opening.widths or opening.gaps:
        chi2, count = disagreement(found)
        assert count == len([line for line in dense.lines]) - len(opening.zero_checks)
        if not opening.zero_checks:
            assert chi2 == pytest.approx(dense.chi2, rel=1e-6, abs=1e-6)
