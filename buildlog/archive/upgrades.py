"""Older forms of build.json, brought to today's one step at a time.

To raise the version: change the tables, raise VERSION in build_tables, add here the step from the version before
(a function that changes the document in place), write the schema anew, and keep a new fixture beside the old ones.
A form that was ever written is read for ever: tests/buildlog/archive/fixtures keeps one file of each.
"""

from collections.abc import Callable

from buildlog.archive.build_tables import SCHEMA, VERSION
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
        STEPS[step](document)
        document["version"] = step + 1
    return document
