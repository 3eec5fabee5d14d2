"""Every public function of the arithmetic without a ledger shows an example, and the examples are counted."""

import dataclasses
import doctest
import importlib
import inspect

import pytest

FILES = "errors figures units scales rounding shown_lengths other_units lengths limits next_widths lining"
PORTS = "json_given json_schema json_told tasks"
MODULES = [importlib.import_module(f"planking.{name}") for name in f"{FILES} {PORTS}".split()]


def examples_of(module) -> int:
    return sum(len(found.examples) for found in doctest.DocTestFinder().find(module))


def public_functions(module):
    return [
        (name, one)
        for name, one in inspect.getmembers(module, inspect.isfunction)
        if one.__module__ == module.__name__ and not name.startswith("_")
    ]


def test_examples_are_there_to_be_run():
    counted = sum(examples_of(module) for module in [importlib.import_module("planking"), *MODULES])

    assert counted > 40


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_every_public_function_says_what_it_returns_and_shows_it(module):
    functions = public_functions(module)

    unsaid = [name for name, one in functions if not (one.__doc__ or "").startswith("Return ")]
    unshown = [name for name, one in functions if ">>>" not in (one.__doc__ or "")]
    assert (unsaid, unshown) == ([], [])


TASKS = [importlib.import_module(f"planking.tasks.{name}") for name in ("lengths", "next_widths", "round")]


@pytest.mark.parametrize("module", [*MODULES, *TASKS], ids=lambda module: module.__name__)
def test_facts_and_answers_cannot_be_changed(module):
    kinds = [one for _, one in inspect.getmembers(module, inspect.isclass) if dataclasses.is_dataclass(one)]

    loose = [one.__name__ for one in kinds if not one.__dataclass_params__.frozen]
    assert loose == []


def test_tour_runs_and_every_file_it_names_is_there():
    tour = importlib.import_module("planking")

    named = [
        line.split("`")[1] for line in tour.__doc__.splitlines() if line.startswith("`") and "  " in line
    ]
    result = doctest.testmod(tour)

    assert result.attempted > 8
    assert result.failed == 0
    assert len(named) >= 7
    for name in named:
        importlib.import_module(f"planking.{name}")
