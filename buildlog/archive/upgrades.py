"""Older forms of build.json, brought to today's one step at a time.

To raise the version: change the tables, raise VERSION in build_tables, write the schema anew, and keep a new fixture
beside the old ones. A new table, and a new column with a default, need nothing more: a file without the column gets
the default, an older file without the table gets an empty one. Whatever else changed needs a step here, which changes
the document in place.
A form that was ever written is read for ever: tests/buildlog/archive/fixtures keeps one file of each.
"""

from collections.abc import Callable

from buildlog.archive.build_json import plain
from buildlog.archive.build_tables import SCHEMA, TABLES, VERSION, Column, columns_of, table_name
from buildlog.archive.trouble import Damaged, NewerVersion

# From the version named to the next one.
STEPS: dict[int, Callable[[dict], None]] = {}


def brought_to_today(document: dict) -> dict:
    """Return the document in today's form, or raise NewerVersion or Damaged."""
    version = document.get("version")
    if document.get("schema") != SCHEMA or type(version) is not int or version < 1:
        raise Damaged("This is not a build saved by Strake Reckoner: build.json does not say so.")
    if version > VERSION:
        raise NewerVersion(
            f"This build was saved by a later version of Strake Reckoner: its form is {version}, "
            f"and this one reads up to {VERSION}. Bring this log to the newest version first."
        )
    for step in range(version, VERSION):
        STEPS.get(step, lambda document: None)(document)
        document["version"] = step + 1
    _fill_in(document.get("tables"), is_older=version < VERSION)
    return document


def _fill_in(tables, *, is_older: bool) -> None:
    """Give rows the columns that their version did not know, as a migration gives them to the rows of a log."""
    if not isinstance(tables, dict):
        return
    for model in TABLES:
        rows = tables.setdefault(table_name(model), []) if is_older else tables.get(table_name(model))
        defaults = {c.name: plain(c.field.get_default()) for c in columns_of(model) if _may_be_missing(c)}
        for row in rows if isinstance(rows, list) else []:
            for name in defaults.keys() - row.keys() if isinstance(row, dict) else []:
                row[name] = defaults[name]


def _may_be_missing(column: Column) -> bool:
    return column.kind != "uuid" and (
        column.field.has_default() or column.may_be_null or (column.kind == "text" and column.field.blank)
    )
