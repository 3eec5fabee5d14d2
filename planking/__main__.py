"""`python -m planking TASK [FILE]`: the arithmetic without the pages, JSON in and out; see `planking.tasks`.

Exit status 0 with an answer, 1 where the answer is that it cannot be done, 2 with one sentence on standard
error that names the field at fault.
"""

import argparse
import os
import sys
from pathlib import Path
from typing import NoReturn

from planking.errors import PlankingError
from planking.json_given import LARGEST_BYTES, parse_json, read_given
from planking.json_schema import schema_of
from planking.json_told import print_json
from planking.tasks import CannotBeDone, task_named, task_names

ANSWERED, CANNOT_BE_DONE, REFUSED = 0, 1, 2


class _Arguments(argparse.ArgumentParser):
    """Says what is wrong with the command in one sentence, as everything else here does."""

    def error(self, message: str) -> NoReturn:
        raise PlankingError("command", f"The command is not understood: {message}; see --help.")


def main(words: list[str] | None = None) -> int:
    """Return the exit status, with the answer printed or one sentence on standard error."""
    try:
        status, text = _run(_arguments().parse_args(words))
    except PlankingError as refused:
        status, text = REFUSED, _one_sentence(refused)
    except Exception as fault:  # A reader of this output must never meet a traceback.
        kind = type(fault).__name__
        status, text = (
            REFUSED,
            f"input: this could not be worked out ({kind}), which is a fault of the program.",
        )
    stream = sys.stderr if status == REFUSED else sys.stdout
    try:
        stream.buffer.write(f"{text}\n".encode("utf-8", "backslashreplace"))
        stream.flush()
    except BrokenPipeError:
        # The reader has gone, as `head` does; the rest goes nowhere, so that closing the stream is silent.
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
    return status


def _arguments() -> argparse.ArgumentParser:
    parser = _Arguments(
        prog="python -m planking",
        description="The arithmetic of planking: JSON in, JSON out.",
        epilog="Exit status: 0 answered, 1 cannot be done (the answer says why), 2 refused (and why).",
    )
    parser.add_argument("task", metavar="TASK", nargs="?", help="what is asked; --list names the tasks")
    parser.add_argument(
        "file", metavar="FILE", nargs="?", default="-", help="a JSON file; else standard input"
    )
    shown = parser.add_mutually_exclusive_group()
    shown.add_argument("--list", action="store_true", help="name the tasks")
    shown.add_argument("--schema", action="store_true", help="print the JSON Schema of the task")
    shown.add_argument("--example", action="store_true", help="print an input that works")
    return parser


def _run(asked: argparse.Namespace) -> tuple[int, str]:
    if asked.list:
        width = max(map(len, task_names()))
        return ANSWERED, "\n".join(f"{name:{width}}  {task_named(name).ASKED_FOR}" for name in task_names())
    if asked.task is None:
        raise PlankingError("task", "A task must be named; --list names them.")
    task = task_named(asked.task)
    if asked.schema:
        return ANSWERED, print_json(schema_of(task))
    if asked.example:
        return ANSWERED, print_json(task.EXAMPLE)
    answer = task.answer(read_given(task.Asked, parse_json(_read(asked.file))))
    return (CANNOT_BE_DONE if isinstance(answer, CannotBeDone) else ANSWERED), print_json(answer)


def _read(name: str) -> bytes:
    """At most one byte over the limit, so that an endless input cannot fill the memory."""
    if name == "-":
        return sys.stdin.buffer.read(LARGEST_BYTES + 1)
    try:
        with Path(name).open("rb") as file:
            return file.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as trouble:
        why = getattr(trouble, "strerror", None) or "not a name of a file"
        raise PlankingError("file", f'The file "{name}" cannot be read: {why}.') from None


def _one_sentence(refused: PlankingError) -> str:
    """One line that names the field, whatever signs the input held."""
    sentence, field = refused.sentence, refused.field
    if sentence.casefold().startswith(field.casefold()):
        sentence = field + sentence[len(field) :]
    elif field not in sentence:
        sentence = f"{field}: {sentence}"
    return "".join(sign if sign.isprintable() else " " for sign in sentence)


if __name__ == "__main__":
    sys.exit(main())
