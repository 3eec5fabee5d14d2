"""Which choices about a table want a look: what its own names and cells say already is folded away on the page."""

import re
from dataclasses import dataclass

from .tables import MatchForm, fold, propose, use_of

# Columns that this log writes for people who read its tables, and does not read back itself.
_FOR_READERS = {
    "revision", "planned mm", "off the plan mm", "full size in", "as typed", "why", "cut to revision", "known since",
}  # fmt: skip
# Which column answers a question that is asked "where none is named".
_ANSWERED_BY = {"opening": "opening", "happened_on": "when", "person": "person", "instrument": "instrument"}
_ORDER_DOUBTED = re.compile(r"\s*\d{1,2}[./-]\d{1,2}[./-]\d{2,4}")


@dataclass(frozen=True)
class Choices:
    """The choices of a match form, each with ``field`` and ``sample``: to be looked at, or folded away."""

    columns: list[dict]
    found: list[dict]
    spare: list[dict]
    asked: list
    answered: list


def choices_of(form: MatchForm) -> Choices:
    """Sort columns into those to look at, those found by their names and those not needed; questions likewise."""
    uses = [form[f"column{i}"].value() or "" for i in range(len(form.sheet.head))]
    proposed = propose(form.sheet, form.known, kind=form["kind"].value())["columns"]
    columns, found, spare = [], [], []
    for index, column in enumerate(form.columns):
        use = uses[index]
        if column["field"].errors or (use and uses.count(use) > 1) or use != proposed[index]:
            columns.append(column)
        elif use:
            found.append(column)
        else:
            (spare if _is_spare(form, index, column["sample"], uses) else columns).append(column)
    asked = [field for field in form.asked if field.errors or not _is_answered(form, field.name, uses)]
    return Choices(columns, found, spare, asked, [f for f in form.asked if f.name not in {one.name for one in asked}])


def _is_spare(form, index, sample, uses) -> bool:
    """Whether a column that is not used holds nothing, or only what another column holds already."""
    title = fold(form.sheet.head[index])
    return not sample or title in _FOR_READERS or use_of(title, form.known, {sample}) in set(uses) - {""}


def _is_answered(form, name, uses) -> bool:
    """Whether the table answers a question in every row itself."""
    if name == "dates":
        return "when" not in uses or not any(map(_ORDER_DOUBTED.match, _cells(form, uses.index("when"))))
    column = _ANSWERED_BY.get(name)
    return column in uses and all(cell.strip() for cell in _cells(form, uses.index(column)))


def _cells(form, index) -> list[str]:
    return [cells[index] if len(cells) > index else "" for _number, cells in form.sheet.rows]
