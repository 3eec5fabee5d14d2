"""What of a saved build can be read without the tool: tables for any spreadsheet, and a page that explains them."""

from buildlog.archive.tables import table_bytes
from buildlog.models import Build, Mishap, PlanRevision, Session, Tip, Worry
from buildlog.queries.tables import KINDS, table_rows

_README = """{name}

This file is one build out of a Strake Reckoner log, saved {made_at}.
You need no program of ours to read it.

build.json      everything that was ever written down, a row a line: the plan with all its revisions, every
                reading and what was amended since, planks, sessions, instruments, persons. Columns that end
                in _nm are whole nanometres on the model; 1 mm is 1000000 of them. Times are UTC.
schema.json     what each column of build.json may hold (JSON Schema).
plan.csv        the plan in force: a line a strake, widths in mm by station, and the sums.
girths.csv, widths.csv, gaps.csv
                every reading, with whether it counts and why not.
sessions.csv    what was done on which day.
remarks.csv     tips, mishaps and worries.
photographs/    the pictures; index.csv says what each shows.
SHA256SUMS      a digest of every file. On most systems "sha256sum -c SHA256SUMS" checks them.

The tables are commas and UTF-8. A cell that a spreadsheet might run as a formula has an apostrophe before it.

{photographs}

What is not in here: accounts, passwords, share links and keys. Persons are names.

To take the build into a log again: choose "Take a build in from a file" in the list of builds, or run
    python3 manage.py import_build THIS-FILE ACCOUNT
"""
_WITH_ORIGINALS = """The photographs are the originals as the cameras made them. They may hold the place where they
were taken and the number of the camera. Keep this file among your own papers; to give a build away,
save it without originals."""
_TO_GIVE_AWAY = """The photographs are the published copies: nothing is left in them of place and camera. The
originals are not in this file, and cannot be had from it. Everything else that was written down is in it,
also what was not shared with a club."""


def readme(build: Build, *, originals: bool, now) -> bytes:
    photographs = _WITH_ORIGINALS if originals else _TO_GIVE_AWAY
    text = _README.format(name=build.name, made_at=f"{now:%Y-%m-%d %H:%M} UTC", photographs=photographs)
    return text.replace("\n", "\r\n").encode("utf-8")


def sheets(build: Build) -> dict[str, bytes]:
    """Return the tables of a build by file name."""
    in_force = PlanRevision.objects.filter(build=build, state=PlanRevision.State.IN_FORCE).first()
    found = {
        f"{kind}.csv": table_bytes(table_rows(build, kind, in_force if kind == "plan" else None)) for kind in KINDS
    }
    return found | {"sessions.csv": table_bytes(_sessions(build)), "remarks.csv": table_bytes(_remarks(build))}


def _sessions(build: Build):
    yield ["date", "side", "minutes", "what", "humidity %", "note", "for next time", "shared", "person"]
    rows = Session.objects.filter(build=build).select_related("by").order_by("local_date", "opened_at", "pk")
    for one in rows:
        yield [
            one.local_date.isoformat(), one.side, one.minutes, ", ".join(map(str, one.kinds)), one.humidity_percent,
            one.note, one.next_note, _yes(one.shared), one.by.display_name if one.by else "",
        ]  # fmt: skip


def _remarks(build: Build):
    yield ["sort", "date", "text", "closed", "shared", "person"]
    for model in (Tip, Mishap, Worry):
        rows = model.objects.filter(session__build=build).select_related("session", "person").order_by("pk")
        for one in rows:
            yield [
                model._meta.verbose_name, one.session.local_date.isoformat(), one.text,
                getattr(one, "closed_reason", ""), _yes(one.shared), one.person.display_name if one.person else "",
            ]  # fmt: skip


def photograph_index(photos, files: dict[str, str]) -> bytes:
    """Return the list of photographs: the file of each, and its words."""
    rows = [["file", "taken", "caption", "described", "shared", "session", "person", "remark"]]
    for one in photos:
        rows.append([
            files.get(str(one.uuid), ""), one.taken_local, one.caption, one.alt, _yes(one.shared),
            one.session.local_date.isoformat() if one.session else "", one.person.display_name if one.person else "",
            one.refusal or ("" if str(one.uuid) in files else "not in this file"),
        ])  # fmt: skip
    return table_bytes(rows)


def _yes(value: bool) -> str:
    return "yes" if value else "no"
