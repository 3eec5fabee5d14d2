"""What a build archive holds: every table of a build and every column of it, or the reason why not.

This is the one description from which the export, the import and the published schema are made. A model or a
column that is neither here nor among the exceptions fails tests/buildlog/archive/test_build_tables.py.
"""

from dataclasses import dataclass
from functools import cache

from django.db import models as columns

from buildlog import models

SCHEMA = "strake-reckoner-build"
VERSION = 2

# Each table comes after those that its rows must name; beside it the way from a row to its build.
TABLES = {
    models.Build: "pk",
    models.Person: "build",
    models.RuleSet: "build",
    models.Frame: "build",
    models.Station: "build",
    models.Instrument: "build",
    models.Epoch: "instrument__build",
    models.InstrumentEvent: "instrument__build",
    models.ZeroCorrection: "epoch__instrument__build",
    models.Lot: "build",
    models.Purchase: "build",
    models.Supply: "build",
    models.TestStrip: "build",
    models.TestJoint: "build",
    models.Opening: "build",
    models.Strake: "opening__build",
    models.PlanRevision: "build",
    models.PlanOpening: "revision__build",
    models.PlanGirth: "plan_opening__revision__build",
    models.PlanBelt: "revision__build",
    models.PlanStrake: "revision__build",
    models.PlanWidth: "plan_strake__revision__build",
    models.PlanPlank: "plan_strake__revision__build",
    models.CardPrint: "plan_strake__revision__build",
    models.PrinterCheck: "build",
    models.Session: "build",
    models.Plank: "strake__opening__build",
    models.PlankStep: "plank__strake__opening__build",
    models.EdgeDressed: "strake__opening__build",
    models.Tip: "session__build",
    models.Mishap: "session__build",
    models.Worry: "session__build",
    models.Reading: "build",
    models.Amendment: "target__build",
    models.PhotoSeries: "build",
    models.Photo: "build",
    models.PhotoMark: "photo__build",
    models.TableImport: "build",
    models.Event: "build",
}

_ACCOUNTS = "accounts and passwords belong to a log, not to a build"
_LINKS = "a link opens this log's pages; whoever takes the build in makes links of their own"
_CLUBS = "a club belongs to a log; a build joins it by its owner's leave"
LEFT_OUT_TABLES = {
    "Account": _ACCOUNTS,
    "OneTimeLink": _ACCOUNTS,
    "SignedInPhone": _ACCOUNTS,
    "Membership": _ACCOUNTS,
    "CautionSeen": "what an account has read, whatever the build",
    "Throttle": "counts how often an address tried to sign in",
    "ShareLink": _LINKS,
    "Question": _LINKS,
    "Club": _CLUBS,
    "ClubMember": _CLUBS,
    "ClubYard": _CLUBS,
    "Job": "work of this server, done or waiting",
    "TakenItem": "what a phone has sent already, so that it is not taken twice; of this log and its phones",
    "Review": "what the arithmetic said; reckoned anew from the readings",
    "HiddenWarning": "what one person put off on one screen",
    "PhotoChange": "what can still be taken back at once on this log; the history tells of each photograph",
    "PhotoRendition": "smaller copies of the photographs; made anew from them",
}
LEFT_OUT_COLUMNS = {
    ("Person", "account"): _ACCOUNTS,
    ("Reading", "entered_by"): _ACCOUNTS,
    ("TableImport", "account"): _ACCOUNTS,
    ("Event", "account"): _ACCOUNTS,
}
# Lines of the history that tell of what is left out are left out with it.
LEFT_OUT_NOUNS = sorted(name.lower() for name in LEFT_OUT_TABLES)

_KINDS = (
    (columns.UUIDField, "uuid"),
    (columns.ForeignKey, "row"),
    (columns.JSONField, "json"),
    (columns.BooleanField, "flag"),
    (columns.DateTimeField, "moment"),
    (columns.DateField, "day"),
    (columns.IntegerField, "whole"),
    (columns.CharField, "text"),
    (columns.TextField, "text"),
)


@dataclass(frozen=True)
class Column:
    """One column: its name, its kind, whether it may be empty, and for a row the table it names."""

    name: str
    kind: str
    may_be_null: bool
    field: columns.Field
    names: str = ""


def table_name(model) -> str:
    return model._meta.model_name


@cache
def columns_of(model) -> tuple[Column, ...]:
    """Return the columns of a table that an archive holds, in the order of the model."""
    return tuple(
        _column(field)
        for field in model._meta.concrete_fields
        if not field.primary_key and (model.__name__, field.name) not in LEFT_OUT_COLUMNS
    )


def _column(field) -> Column:
    kind = next(kind for sort, kind in _KINDS if isinstance(field, sort))
    names = table_name(field.related_model) if kind == "row" else ""
    return Column(field.name, kind, field.null, field, names)


def rows_of(model, build):
    """Return the rows of a table that belong to a build, oldest first."""
    rows = model.objects.filter(**{TABLES[model]: build.pk}).order_by("pk")
    return rows.exclude(noun__in=LEFT_OUT_NOUNS) if model is models.Event else rows
