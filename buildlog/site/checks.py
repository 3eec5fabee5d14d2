"""What must hold before the server answers: SQLite's settings are read back, never only written."""

from typing import Any

from django.conf import settings
from django.core.checks import Error, Tags, register
from django.db import connections

from .environment import SQLITE_TIMEOUT_SECONDS

# What a live connection must say. One project wrote its timeout into the wrong dictionary and ran for months
# without it, so these are read from the connection and not from the settings.
WANTED_PRAGMAS = {
    "journal_mode": "wal",
    "synchronous": 2,
    "foreign_keys": 1,
    "busy_timeout": SQLITE_TIMEOUT_SECONDS * 1000,
}


def live_pragmas(alias: str = "default") -> dict[str, Any]:
    """Return what SQLite itself says of this connection; an empty dictionary on another engine."""
    connection = connections[alias]
    if connection.vendor != "sqlite":
        return {}
    found: dict[str, Any] = {}
    with connection.cursor() as cursor:
        for name in WANTED_PRAGMAS:
            found[name] = cursor.execute(f"PRAGMA {name}").fetchone()[0]
    found["transaction_mode"] = connection.transaction_mode
    return found


def wrong_pragmas(found: dict[str, Any], wanted: dict[str, Any] | None = None) -> list[str]:
    """Return one sentence for each setting that does not hold."""
    wanted = (wanted or WANTED_PRAGMAS) | {"transaction_mode": "IMMEDIATE"}
    return [
        f"SQLite's {name} is {found.get(name)!r} and must be {value!r}."
        for name, value in wanted.items()
        if found and found.get(name) != value
    ]


@register(Tags.database)
def sqlite_holds_its_settings(app_configs=None, databases=None, **kwargs) -> list[Error]:
    sentences = [each for alias in databases or [] for each in wrong_pragmas(live_pragmas(alias), _wanted())]
    return [Error(sentence, id="buildlog.E001") for sentence in sentences]


def _wanted() -> dict[str, Any]:
    return WANTED_PRAGMAS | getattr(settings, "WANTED_PRAGMAS", {})
