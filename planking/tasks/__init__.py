"""Tasks: the arithmetic as JSON in, JSON out, one file a task.

To add a task, put one file here. Its name is the task's name with underscores for hyphens (`next_widths.py`
answers `python -m planking next-widths`), and it holds

    ASKED_FOR   one line for `--list`
    EXAMPLE     an input that works, as plain dicts, lists, numbers and strings
    Asked       a frozen dataclass: the input. Its fields are the keys; see `planking.json_given` for the
    types. Answered    a frozen dataclass: the output answer      a function from Asked to Answered, or to a
    CannotBeDone with its reason (exit status 1)

and a test beside `tests/planking/tasks/test_next_widths.py`. Nothing else needs to be told of it: the
dispatcher finds the file, and the schema is made from the two dataclasses. Lengths are fields ending in
`_mm`; where `Asked` has a `scale`, each may also be given at full size, in inches, under the same name ending
in `_in`.
"""

import importlib
import pkgutil
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Protocol

from planking.errors import PlankingError


@dataclass(frozen=True)
class CannotBeDone:
    """The answer is that it cannot be done: why, and what would help. A task may add fields in a subclass."""

    why: str
    would_help: tuple[str, ...]


class Task(Protocol):
    """What a file in this folder holds."""

    ASKED_FOR: str
    EXAMPLE: dict[str, Any]
    Asked: type
    Answered: type
    answer: Callable[[Any], object]


def task_names() -> tuple[str, ...]:
    """Return the names of the tasks, by the alphabet.

    >>> "next-widths" in task_names()
    True
    """
    return tuple(sorted(info.name.replace("_", "-") for info in pkgutil.iter_modules(__path__)))


def task_named(name: str) -> Task:
    """Return the task of that name.

    >>> task_named("round").ASKED_FOR
    'widths in whole steps, by running remainder'

    Raises PlankingError when there is none.
    """
    if name not in task_names():
        raise PlankingError("task", f'"{name}" is not a task; the tasks are {", ".join(task_names())}.')
    module: Any = importlib.import_module(f"{__name__}.{name.replace('-', '_')}")
    return module  # type: ignore[no-any-return]
