"""The ledger against a dense solve of the same model, against the closed forms of one station, and on
hostile facts."""

import math
from dataclasses import replace

import numpy as np
import pytest

from planking.estimate import Question, disagreement, habit_here, ledger, room, solve
from planking.ledger_rows import rows_of
from planking.ledger_tables import Habits
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
from planking.slips import slip_scores
from tests.planking.brig import brig
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


def hung_or_open(number: int, is_hung: bool, names: tuple[str, ...]) -> Strake:
    state = {"state": "hung", "hung_order": 100 - number} if is_hung else {}
    return Strake(str(number), "wale", dict.fromkeys(names, 5.0), **state)


def one_station(u_girth: float, gap: float | None, hung: int, *, u_zero: float = 0.02) -> Opening:
    strakes = tuple(
        Strake(
            str(n),
            "wale",
            {"D": 5.0},
            state="hung" if n > 6 - hung else "open",
            hung_order=7 - n if n > 6 - hung else None,
        )
        for n in range(1, 7)
    )
    widths = tuple(WidthReading(str(n), "D", 5.0 + 0.01 * n, "A") for n in range(7 - hung, 7))
    gaps = () if gap is None else (GapReading("D", gap, frozenset(), 0.10),)
    return Opening(
        "port",
        (Station("D"),),
        strakes,
        girth_planned_mm={"D": 30.21},
        girths=(GirthReading("D", 30.21, u_girth),),
        widths=widths,
        gaps=gaps,
        epochs=(Epoch("A", "caliper", 0.02, u_zero),),
        cutting_scatter_mm=50.0,
    )


FLAT = Habits(common_mm=50.0, run_mm=50.0, station_mm=50.0, zero_step_mm=0.0)


@pytest.mark.parametrize("u_zero", [0.0, 0.02, 0.05])
@pytest.mark.parametrize("hung", [1, 3, 6])
def test_one_station_with_no_word_on_the_hand_is_the_plain_chain(hung: int, u_zero: float) -> None:
    # R = G - sum (m - z) - seams; u^2 = u_G^2 + k u_m^2 + (k u_z)^2 + (n u_gamma)^2 + n s^2 (GUM 5.2,
    # correlated).
    opening = one_station(0.25, None, hung, u_zero=u_zero)
    seams = 7

    found = room(solve(opening, rows_of(opening), FLAT))

    read = sum(5.0 + 0.01 * n for n in range(7 - hung, 7))
    assert found.mean[0] == pytest.approx(30.21 - read - seams * 0.03, abs=1e-5)
    u2 = 0.25**2 + hung * 0.02**2 + (hung * u_zero) ** 2 + (seams * 0.03) ** 2 + seams * 0.01**2
    assert found.u[0] == pytest.approx(math.sqrt(u2), rel=1e-4)


def test_two_routes_to_the_gap_fuse_by_their_inverse_squares() -> None:
    # Girth 30.21 +- 0.25 and an open gap 30.51 +- 0.10: 30.21 + 0.30 x 0.0625 / 0.0725 = 30.46862.
    opening = one_station(0.25, 30.51, 0)

    found = room(solve(opening, rows_of(opening), FLAT))

    fused = (30.21 / 0.25**2 + 30.51 / 0.10**2) / (1 / 0.25**2 + 1 / 0.10**2)
    assert found.mean[0] == pytest.approx(fused - 7 * 0.03, abs=1e-6)
    u2 = 1 / (1 / 0.25**2 + 1 / 0.10**2) + (7 * 0.03) ** 2 + 7 * 0.01**2
    assert found.u[0] == pytest.approx(math.sqrt(u2), rel=1e-6)


def test_widths_and_a_known_total_reconcile() -> None:
    # Worked by hand: widths 5.1 4.9 5.0 5.2 (u 0.05 each), total 20.00 (u 0.10). Misfit 0.20 is shared by
    # the squares
    # 0.01 + 4 x 0.0025 = 0.02: total + 0.10, each width - 0.025; chi-square 0.20^2 / 0.02 = 2.0 on one
    # degree; u after
    # 0.0707 for the total and 0.0468 for a width.
    strakes = tuple(Strake(str(n), "wale", {"D": 5.0}, state="hung", hung_order=5 - n) for n in range(1, 5))
    opening = Opening(
        "port",
        (Station("D"),),
        strakes,
        seam_mm=0.0,
        u_seam_mm=0.0,
        seam_scatter_mm=0.0,
        girth_planned_mm={"D": 20.0},
        girths=(GirthReading("D", 20.0, 0.10),),
        widths=tuple(
            WidthReading(str(n), "D", width, "A")
            for n, width in zip(range(1, 5), (5.1, 4.9, 5.0, 5.2), strict=True)
        ),
        gaps=(GapReading("D", 0.0, frozenset("1234"), 0.0),),
        epochs=(Epoch("A", "caliper", 0.05, 0.0),),
        cutting_scatter_mm=5.0,
    )

    found = solve(opening, rows_of(opening), Habits(5.0, 5.0, 5.0, 0.0))
    girth = found.answer(asked(found, girth=1.0))
    widths = [found.answer(asked(found, strake=label)) for label in "1234"]

    assert girth.mean[0] == pytest.approx(20.10, abs=1e-4)
    assert [one.mean[0] for one in widths] == pytest.approx([5.075, 4.875, 4.975, 5.175], abs=1e-4)
    assert girth.u[0] == pytest.approx(0.0707, abs=1e-4)
    assert widths[0].u[0] == pytest.approx(0.0468, abs=1e-4)
    assert disagreement(found)[0] == pytest.approx(2.0, abs=5e-3)


def asked(solved: object, *, girth: float = 0.0, strake: str | None = None) -> Question:
    """The girth, or the true width of one strake, as a question."""
    count, number = len(solved.rows.girth), len(solved.rows.strakes)
    const, shared, local = np.zeros(count), np.zeros((count, len(solved.shared))), np.zeros(count)
    cuts = np.zeros((count, number))
    if strake is not None:
        column = [one.label for one in solved.rows.strakes].index(strake)
        const, local, cuts[:, column] = solved.rows.aim[:, column], np.ones(count), 1.0
        shared[:, [solved.column("mu"), solved.column("wale"), solved.column("cuts") + column]] = 1.0
    return Question(const, shared, girth, local, cuts, np.zeros((count, number)))


def test_order_of_logging_does_not_matter() -> None:
    opening = brig("port")
    turned = replace(opening, widths=opening.widths[::-1], girths=opening.girths[::-1])

    assert room(ledger(turned)).mean == pytest.approx(room(ledger(opening)).mean, abs=1e-12)


def test_cut_equals_plan_leaves_no_habit() -> None:
    opening = brig("starboard")
    exact = replace(
        opening,
        widths=tuple(
            replace(one, width_mm=opening.strake_by_label[one.strake].planned_mm[one.station])
            for one in opening.widths
        ),
        gaps=(),
        girths=(),
    )

    found = ledger(exact)

    assert habit_here(found, "wale").mean == pytest.approx(np.zeros(11), abs=1e-12)
    assert found.zero("B").mean_mm == pytest.approx(0.0, abs=1e-12)


def test_scatter_is_learned_from_the_log() -> None:
    draw = np.random.default_rng(3)

    def hull(sigma: float) -> Opening:
        names = tuple(f"S{n}" for n in range(8))
        strakes = tuple(
            Strake(str(n), "wale", dict.fromkeys(names, 5.0), state="hung", hung_order=40 - n)
            for n in range(1, 40)
        )
        widths = tuple(
            WidthReading(one.label, name, float(5 + common + 0.7 * sigma * draw.normal()), "A")
            for one in strakes
            for common in [0.7 * sigma * draw.normal()]
            for name in names
        )
        return Opening(
            "port", tuple(map(Station, names)), strakes, widths=widths, epochs=(Epoch("A", "c", 0.001, 0.0),)
        )

    for sigma in (0.02, 0.06, 0.15):
        opening = hull(sigma)
        assert scatter_of(opening, rows_of(opening)).sd_mm == pytest.approx(sigma, rel=0.25)


def test_seam_is_learned_from_the_log() -> None:
    # Seams of 0.06 where 0.03 +- 0.03 was expected, gaps read well at eight stations after every strake.
    names = tuple(f"S{n}" for n in range(8))
    strakes = tuple(
        Strake(
            str(n),
            "wale",
            dict.fromkeys(names, 5.0),
            state="hung" if n > 4 else "open",
            hung_order=14 - n if n > 4 else None,
        )
        for n in range(1, 14)
    )
    labels = [str(n) for n in range(13, 4, -1)]
    gaps = tuple(
        GapReading(name, 66.0 - 5.06 * k, frozenset(labels[:k]), 0.02)
        for name in names
        for k in range(len(labels) + 1)
    )
    widths = tuple(WidthReading(label, name, 5.0, "A") for label in labels for name in names)

    found = ledger(
        Opening(
            "port",
            tuple(map(Station, names)),
            strakes,
            gaps=gaps,
            widths=widths,
            epochs=(Epoch("A", "c", 0.01, 0.001),),
        )
    )

    assert found.seam.mean_mm == pytest.approx(0.06, abs=0.003)
    assert found.seam.u_mm < 0.01
    assert found.slips == ()


def test_a_slip_is_found_kept_and_counted_little() -> None:
    opening = brig("port")
    wrong = replace(
        opening,
        widths=tuple(
            replace(one, width_mm=one.width_mm + 0.6) if (one.strake, one.station) == ("13", "H") else one
            for one in opening.widths
        ),
    )

    clean, found = ledger(opening), ledger(wrong)

    assert clean.slips == ()
    assert found.slips == (("13", "H"),)
    at = [one.name for one in opening.stations].index("H")
    assert room(found).mean[at] == pytest.approx(room(clean).mean[at], abs=0.03)


def test_slip_scores_are_what_leaving_one_out_gives() -> None:
    opening = brig("port")
    at = next(index for index, one in enumerate(opening.widths) if (one.strake, one.station) == ("13", "H"))
    left_out = replace(opening, widths=opening.widths[:at] + opening.widths[at + 1 :])
    scatter = scatter_of(opening, rows_of(opening))

    scores = slip_scores(solve(opening, rows_of(opening), scatter=scatter))
    dense = DenseLedger(left_out, scatter, Habits())
    h, aim = dense.width("13", "H")
    row = dense.row(h | dense.zero(opening.widths[at].epoch, "13"))
    foretold = aim + row @ dense.post_mean
    u = math.sqrt(row @ dense.post @ row + 0.02**2)

    column = [one.label for one in rows_of(opening).strakes].index("13")
    station = [one.name for one in opening.stations].index("H")
    assert scores[station, column] == pytest.approx((opening.widths[at].width_mm - foretold) / u, rel=1e-5)


HOSTILE = {
    "nothing measured": {"widths": (), "gaps": (), "girths": (), "zero_checks": ()},
    "no doubt at all": {
        "epochs": (Epoch("A", "caliper", 0.0, 0.0), Epoch("B", "caliper", 0.0, 0.0)),
        "u_seam_mm": 0.0,
        "seam_scatter_mm": 0.0,
        "cutting_scatter_mm": 0.0,
    },
}


@pytest.mark.parametrize("case", HOSTILE)
@pytest.mark.parametrize("seed", range(8))
def test_hostile_facts_give_a_sound_answer(seed: int, case: str) -> None:
    opening = replace(drawn(seed), **HOSTILE[case])

    found = room(ledger(opening))

    assert np.isfinite(found.mean).all()
    assert np.isfinite(found.u).all()
    assert (found.u >= 0).all()


def test_contradictory_gaps_give_a_sound_answer() -> None:
    opening = one_station(0.25, None, 0)
    gaps = (GapReading("D", 20.0, frozenset(), 0.0), GapReading("D", 40.0, frozenset(), 0.0))

    found = room(ledger(replace(opening, gaps=gaps)))

    assert 20.0 < found.mean[0] < 40.0
    assert np.isfinite(found.u[0])
