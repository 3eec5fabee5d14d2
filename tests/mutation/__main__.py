"""Mutation testing of one planking module: `python -m tests.mutation drift --most 60 --seed 1`.

Each mutant changes one operator, comparison, number or word of the module's own copy of planking; the tests
named for it run against that copy. A mutant that passes them all has survived and is printed with its line.
Never run in CI.
"""

import argparse
import ast
import copy
import importlib
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SECONDS_A_MUTANT = 300
TESTS = {
    "drift": [
        "test_drift_by_hand", "test_drift", "test_public_figures", "test_closing_strake", "test_any_opening",
        "test_girth_slips", "test_sum_in_words",
    ],
    "habit": ["test_habit", "test_public_figures", "test_public_charts"],
    "cusum": ["test_habit", "test_public_charts"],
    "closing_strake": ["test_closing_strake", "test_any_opening"],
    "rounding": ["test_rounding", "test_lengths"],
    "next_widths": ["test_next_widths"],
    "offered": ["test_recut"],
    "trial_joints": ["test_trial_joints"],
}
COMPARE = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
OPERATE = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult}


def can_be_mutated(node) -> bool:
    if isinstance(node, ast.Compare):
        return type(node.ops[0]) in COMPARE
    if isinstance(node, (ast.BinOp, ast.AugAssign)):
        return type(node.op) in OPERATE
    if isinstance(node, ast.UnaryOp):
        return isinstance(node.op, (ast.USub, ast.Not))
    if isinstance(node, ast.Constant):
        return isinstance(node.value, (int, float))
    if isinstance(node, ast.Return):
        # What returns nothing already cannot be made to.
        return node.value is not None and not (isinstance(node.value, ast.Constant) and node.value.value is None)
    return isinstance(node, ast.BoolOp)


class Sites(ast.NodeVisitor):
    """Every place of a module that can be mutated, in order; docstrings and annotations are none."""

    def __init__(self):
        self.found = []

    def visit(self, node):
        if can_be_mutated(node):
            self.found.append(node)
        super().visit(node)

    def visit_AnnAssign(self, node):
        if node.value is not None:
            self.visit(node.value)

    def visit_arg(self, node):
        return


def mutate(node):
    """Change one node in place."""
    if isinstance(node, ast.Compare):
        node.ops[0] = COMPARE[type(node.ops[0])]()
    elif isinstance(node, (ast.BinOp, ast.AugAssign)):
        node.op = OPERATE[type(node.op)]()
    elif isinstance(node, ast.UnaryOp):
        node.op = ast.UAdd() if isinstance(node.op, ast.USub) else ast.Not()
        if isinstance(node.op, ast.Not):
            node.operand = ast.UnaryOp(ast.Not(), node.operand)
    elif isinstance(node, ast.BoolOp):
        node.op = ast.And() if isinstance(node.op, ast.Or) else ast.Or()
    elif isinstance(node, ast.Constant):
        node.value = (not node.value) if isinstance(node.value, bool) else node.value + 1
    elif isinstance(node, ast.Return):
        node.value = ast.Constant(None)


def mutants(source, most, seed):
    """Yield (line, text before, mutated source), at most so many, drawn by ``seed``."""
    tree = ast.parse(source)
    sites = Sites()
    sites.visit(tree)
    chosen = list(range(len(sites.found)))
    random.Random(seed).shuffle(chosen)
    lines = source.splitlines()
    for index in sorted(chosen[:most]):
        twin = copy.deepcopy(tree)
        again = Sites()
        again.visit(twin)
        node = again.found[index]
        mutate(node)
        ast.fix_missing_locations(twin)
        kind = type(node).__name__
        yield node.lineno, kind, lines[node.lineno - 1].strip(), ast.unparse(twin)


def import_what_tests_share():
    """Import what is slow to import and is never mutated, so that each mutant is a fork that has it already."""
    for name in ("numpy", "pytest", "scipy.linalg", "scipy.optimize", "scipy.sparse.linalg", "scipy.stats"):
        importlib.import_module(name)


def survives(copy_of_root, module, text, tests) -> bool:
    """Run the tests against one mutant in a fork, file by file; one that never comes to an end has been seen."""
    (copy_of_root / "planking" / f"{module}.py").write_text(text)
    child = os.fork()
    if child == 0:
        os._exit(_fails(copy_of_root, tests))
    until = time.monotonic() + SECONDS_A_MUTANT
    while time.monotonic() < until:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status) == 0
        time.sleep(0.02)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return False


def _fails(copy_of_root, tests) -> int:
    quiet = os.open(os.devnull, os.O_WRONLY)
    os.dup2(quiet, 1)
    os.dup2(quiet, 2)
    os.chdir(copy_of_root)
    sys.path.insert(0, str(copy_of_root))
    sys.dont_write_bytecode = True
    import pytest

    try:
        return int(pytest.main(["-x", "-q", "-n0", "-p", "no:cacheprovider", *tests]))
    except BaseException:
        return 1


def main():
    asked = argparse.ArgumentParser(prog="python -m tests.mutation")
    asked.add_argument("module", choices=sorted(TESTS))
    asked.add_argument("--most", type=int, default=60)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--from-line", type=int, default=1, help="leave out what stands above this line")
    told = asked.parse_args()
    source = (ROOT / "planking" / f"{told.module}.py").read_text()
    tests = [f"tests/planking/{name}.py" for name in TESTS[told.module]]
    os.environ["HYPOTHESIS_MAX_EXAMPLES"] = "20"
    import_what_tests_share()
    alive, count = [], 0
    with tempfile.TemporaryDirectory() as place:
        there = Path(place) / "copy"
        shutil.copytree(ROOT, there, ignore=shutil.ignore_patterns(".venv", ".git", "data", "static", "__pycache__"))
        (there / "static").mkdir()
        if not survives(there, told.module, source, tests):
            sys.exit("The tests fail without any mutant.")
        for line, kind, was, text in mutants(source, told.most, told.seed):
            if line < told.from_line:
                continue
            count += 1
            if survives(there, told.module, text, tests):
                alive.append((line, kind, was))
                print(f"survived {told.module}.py:{line} {kind}: {was}", flush=True)
    print(f"{told.module}: {len(alive)} of {count} survived ({100 * len(alive) / max(1, count):.1f} %)")


if __name__ == "__main__":
    main()
