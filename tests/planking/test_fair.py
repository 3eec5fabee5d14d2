"""The bounded solver against an independent one (HiGHS, quadratic), and on problems worked by hand."""

import numpy as np
import pytest
from scipy.optimize import linprog, minimize
from scipy.sparse import coo_matrix, csc_matrix, tril

from planking import fair
from planking.errors import PlankingError
from planking.fair import Problem, solve, water_filled


def drawn(seed: int, half_width: float) -> Problem:
    """A recut-like problem: strakes by stations, steps and a station sum, boxes about the mean share."""
    draw = np.random.default_rng(seed)
    stations, strakes = int(draw.integers(1, 7)), int(draw.integers(2, 8))
    target = 5 + draw.normal(0, 0.1, (stations, strakes))
    rows, columns, values, wanted = [], [], [], []
    for s in range(stations):
        for i in range(strakes):
            rows, columns, values = [*rows, len(wanted)], [*columns, s * strakes + i], [*values, 1.0]
            wanted.append(target[s, i])
        for i in range(strakes - 1):
            rows += [len(wanted)] * 2
            columns += [s * strakes + i, s * strakes + i + 1]
            values += [-0.7, 0.7]
            wanted.append(0.0)
    for s in range(1, stations - 1):
        for i in range(strakes):
            rows += [len(wanted)] * 3
            columns += [(s - 1) * strakes + i, s * strakes + i, (s + 1) * strakes + i]
            values += [0.5, -1.0, 0.5]
            wanted.append(0.0)
    jacobian = coo_matrix((values, (rows, columns)), shape=(len(wanted), stations * strakes)).tocsc()
    sums = csc_matrix(np.kron(np.eye(stations), np.ones(strakes)))
    totals = target.sum(axis=1) + draw.normal(0, 0.2, stations)
    middle = np.repeat(totals / strakes, strakes)
    return Problem(
        (jacobian.T @ jacobian).tocsc(),
        jacobian.T @ np.array(wanted),
        sums,
        totals,
        middle * (1 - half_width),
        middle * (1 + half_width),
    )


def objective(problem: Problem, x: np.ndarray) -> float:
    return float(0.5 * x @ (problem.hessian @ x) - problem.gradient @ x)


def frank_wolfe_gap(problem: Problem, x: np.ndarray) -> float:
    """How much the objective could still fall, bounded by HiGHS: g'(x - s) over the best corner s.

    For a convex objective this bounds objective(x) - optimum from above (Frank and Wolfe 1956; value from
    memory).
    """
    slope = problem.hessian @ x - problem.gradient
    best = linprog(
        slope,
        A_eq=problem.sums,
        b_eq=problem.totals,
        bounds=list(zip(problem.lowest, problem.highest, strict=True)),
        method="highs",
    )
    assert best.status == 0
    return float(slope @ x - best.fun)


@pytest.mark.parametrize("half_width", [0.002, 0.01, 0.03, 0.5])
@pytest.mark.parametrize("seed", range(12))
def test_solution_cannot_be_bettered_by_the_word_of_highs(seed: int, half_width: float) -> None:
    problem = drawn(seed, half_width)

    found = solve(problem)

    assert problem.sums @ found.x == pytest.approx(problem.totals, abs=1e-9)
    assert (found.x >= problem.lowest - 1e-9).all()
    assert (found.x <= problem.highest + 1e-9).all()
    assert frank_wolfe_gap(problem, found.x) < 1e-7


def test_solution_agrees_with_scipy_minimize() -> None:
    problem = drawn(3, 0.01)

    found = solve(problem)
    judge = minimize(
        lambda x: objective(problem, x),
        fair._feasible_start(problem),
        jac=lambda x: problem.hessian @ x - problem.gradient,
        constraints={
            "type": "eq",
            "fun": lambda x: problem.sums @ x - problem.totals,
            "jac": lambda x: problem.sums.toarray(),
        },
        bounds=list(zip(problem.lowest, problem.highest, strict=True)),
        method="SLSQP",
        options={"ftol": 1e-14, "maxiter": 500},
    )

    assert found.x == pytest.approx(judge.x, abs=1e-5)
    assert objective(problem, found.x) <= objective(problem, judge.x) + 1e-9


@pytest.mark.parametrize("seed", range(12))
def test_active_set_finds_the_same_widths_as_the_rounds(seed: int) -> None:
    problem = drawn(seed, 0.01)

    rounds, fallback = solve(problem), fair._active_set(problem)

    assert fallback.fell_back
    assert fallback.x == pytest.approx(rounds.x, abs=1e-6)


def test_limits_that_cannot_reach_a_sum_are_refused() -> None:
    problem = drawn(1, 0.01)

    with pytest.raises(PlankingError) as caught:
        solve(
            Problem(
                problem.hessian,
                problem.gradient,
                problem.sums,
                problem.totals + 5,
                problem.lowest,
                problem.highest,
            )
        )

    assert caught.value.field == "totals"


@pytest.mark.parametrize("seed", range(20))
def test_water_filled_is_the_nearest_point(seed: int) -> None:
    draw = np.random.default_rng(seed)
    wanted = draw.normal(5, 0.5, (4, 6))
    lowest, highest = wanted - draw.uniform(0, 0.5, wanted.shape), wanted + draw.uniform(0, 0.5, wanted.shape)
    totals = np.array(
        [draw.uniform(low, high) for low, high in zip(lowest.sum(axis=1), highest.sum(axis=1), strict=True)]
    )

    found = water_filled(wanted, lowest, highest, totals)

    assert found.sum(axis=1) == pytest.approx(totals, abs=1e-9)
    assert (found >= lowest - 1e-12).all()
    assert (found <= highest + 1e-12).all()
    # The nearest point: no two widths free to trade could both come nearer (one t a station).
    for row in range(4):
        free = (found[row] > lowest[row] + 1e-9) & (found[row] < highest[row] - 1e-9)
        shift = (found[row] - wanted[row])[free]
        assert shift == pytest.approx(np.full(free.sum(), shift[0] if free.any() else 0.0), abs=1e-9)


def by_highs(problem: Problem) -> np.ndarray:
    """The same quadratic problem solved by HiGHS itself, through the copy that scipy carries with it."""
    core = pytest.importorskip("scipy.optimize._highspy._core")
    solver, options, model = core._Highs(), core.HighsOptions(), core.HighsModel()
    options.output_flag = False
    solver.passOptions(options)
    sums, lower = csc_matrix(problem.sums), csc_matrix(tril(problem.hessian))
    lower.sort_indices()
    lp = core.HighsLp()
    lp.num_col_, lp.num_row_ = len(problem.gradient), sums.shape[0]
    lp.col_cost_, lp.col_lower_, lp.col_upper_ = -problem.gradient, problem.lowest, problem.highest
    lp.row_lower_ = lp.row_upper_ = problem.totals
    lp.a_matrix_.format_ = core.MatrixFormat.kColwise
    lp.a_matrix_.start_, lp.a_matrix_.index_, lp.a_matrix_.value_ = sums.indptr, sums.indices, sums.data
    model.lp_ = lp
    hessian = model.hessian_
    hessian.dim_, hessian.format_ = lp.num_col_, core.HessianFormat.kTriangular
    hessian.start_, hessian.index_, hessian.value_ = lower.indptr, lower.indices, lower.data
    solver.passModel(model)
    solver.run()
    assert solver.getModelStatus() == core.HighsModelStatus.kOptimal
    return np.array(solver.getSolution().col_value)


@pytest.mark.parametrize("half_width", [0.01, 0.03, 0.2])
@pytest.mark.parametrize("seed", range(12))
def test_widths_are_those_of_highs_for_the_same_quadratic_problem(seed: int, half_width: float) -> None:
    problem = drawn(seed, half_width)
    total = problem.sums @ problem.lowest, problem.sums @ problem.highest
    assert (total[0] <= problem.totals).all()
    assert (problem.totals <= total[1]).all()

    ours, theirs = solve(problem).x, by_highs(problem)

    # HiGHS stops at 1e-7; widths are told to 0.01 mm.
    assert ours == pytest.approx(theirs, abs=1e-5)
    assert objective(problem, ours) <= objective(problem, theirs) + 1e-9
