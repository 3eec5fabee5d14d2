"""build.json -> rows that our tables could hold, or one sentence that names table, row and column."""

import re
import zoneinfo
from dataclasses import dataclass
from datetime import UTC, date, datetime
from uuid import UUID, uuid4

from django.core.exceptions import ValidationError

from buildlog import models
from buildlog.archive.build_tables import TABLES, Column, columns_of, table_name
from buildlog.archive.trouble import Damaged
from buildlog.photos.kinds import CONTENT_TYPES
from planking.lengths import LONGEST_MM, PlankingError, Scale, to_nm

MOST_ROWS = 500_000
# What a form takes in at most, and so what pages have a figure for.
LONGEST_NM = to_nm(LONGEST_MM)
_DAY = re.compile(r"\d{4}-\d\d-\d\d")
_SHA256 = re.compile(r"[0-9a-f]{64}")


@dataclass
class Given:
    """One row as it was given: the model's instance without its references, and those by column."""

    instance: object
    names: dict[str, str | None]


def tables_of(document: dict) -> dict[type, list[Given]]:
    """Return every row of a document by model, each checked column for column."""
    tables = document.get("tables")
    if not isinstance(tables, dict) or set(tables) != {table_name(model) for model in TABLES}:
        raise Damaged("build.json does not hold the tables of a build.")
    if not all(isinstance(rows, list) for rows in tables.values()):
        raise Damaged("build.json holds a table that is no list of rows.")
    if sum(map(len, tables.values())) > MOST_ROWS:
        raise Damaged(f"build.json holds more than {MOST_ROWS} rows.")
    found = {model: _table(model, tables[table_name(model)]) for model in TABLES}
    if len(found[models.Build]) != 1:
        raise Damaged(f"A file holds one build; this one holds {len(found[models.Build])}.")
    _check_references(found)
    return found


def _table(model, rows: list) -> list[Given]:
    columns = columns_of(model)
    return [_row(model, columns, row, place) for place, row in enumerate(rows, 1)]


def _row(model, columns, row, place: int) -> Given:
    where = f"build.json, {table_name(model)} {place}"
    if not isinstance(row, dict):
        raise Damaged(f"{where}: this is no row.")
    wanted = {column.name for column in columns}
    if set(row) != wanted:
        strange, short = sorted(set(row) - wanted), sorted(wanted - set(row))
        raise Damaged(f"{where}: it has no {short[0]}." if short else f"{where}: it holds “{strange[0][:40]}” besides.")
    values = {column.name: _value(column, row[column.name], f"{where}, {column.name}") for column in columns}
    named = {column.name: values.pop(column.name) for column in columns if column.kind == "row"}
    names = {name: str(value) if value else None for name, value in named.items()}
    instance = model(**values)
    _look_closer(instance, where)
    return Given(instance, names)


def _value(column: Column, given, where: str):
    if given is None:
        if not column.may_be_null:
            raise Damaged(f"{where}: it may not be empty.")
        return None
    value = _READERS[column.kind](given, where)
    if column.kind in ("text", "whole"):
        _check_bounds(column, value, where)
    return value


def _check_bounds(column: Column, value, where: str) -> None:
    try:
        column.field.run_validators(value)
    except ValidationError as why:
        raise Damaged(f"{where}: {' '.join(why.messages)}") from None
    choices = column.field.choices
    if choices and value not in [choice for choice, _ in choices] and not (value == "" and column.field.blank):
        raise Damaged(f"{where}: “{str(value)[:40]}” is none of its words.")


def _text(given, where: str) -> str:
    if not isinstance(given, str):
        raise Damaged(f"{where}: this is no text.")
    if "\0" in given or any("\ud800" <= sign <= "\udfff" for sign in given):
        raise Damaged(f"{where}: it holds a sign that no record can hold.")
    return given


def _whole(given, where: str) -> int:
    if type(given) is not int:
        raise Damaged(f"{where}: this is no whole number.")
    return given


def _flag(given, where: str) -> bool:
    if not isinstance(given, bool):
        raise Damaged(f"{where}: this is neither true nor false.")
    return given


def _uuid(given, where: str) -> UUID:
    try:
        if str(UUID(_text(given, where))) != given:
            raise ValueError
        return UUID(given)
    except ValueError:
        raise Damaged(f"{where}: this is no uuid.") from None


def _moment(given, where: str) -> datetime:
    try:
        moment = datetime.fromisoformat(_text(given, where))
        if moment.tzinfo is None:
            raise ValueError
        return moment.astimezone(UTC)
    except (ValueError, OverflowError):
        raise Damaged(f"{where}: this is no time with its zone.") from None


def _day(given, where: str) -> date:
    try:
        if not _DAY.fullmatch(_text(given, where)):
            raise ValueError
        return date.fromisoformat(given)
    except ValueError:
        raise Damaged(f"{where}: this is no date.") from None


def _json(given, where: str):
    if not isinstance(given, (dict, list)):
        raise Damaged(f"{where}: this is neither a list nor a set of names and values.")
    _check_signs(given, where)
    return given


def _check_signs(given, where: str) -> None:
    if isinstance(given, str):
        _text(given, where)
    elif isinstance(given, dict):
        for name, value in given.items():
            _text(name, where)
            _check_signs(value, where)
    elif isinstance(given, list):
        for value in given:
            _check_signs(value, where)


_READERS = {
    "text": _text, "whole": _whole, "flag": _flag, "uuid": _uuid, "row": _uuid, "moment": _moment, "day": _day,
    "json": _json,
}  # fmt: skip


def _look_closer(instance, where: str) -> None:
    """Check what the columns by themselves do not say and pages rely on."""
    for field in instance._meta.concrete_fields:
        if field.name.endswith("_nm") and abs(getattr(instance, field.name) or 0) > LONGEST_NM:
            raise Damaged(f"{where}, {field.name}: this is longer than any ship.")
        is_json = field.get_internal_type() == "JSONField" and callable(field.default)
        if is_json and type(getattr(instance, field.name)) is not field.default:
            raise Damaged(f"{where}, {field.name}: this has another shape.")
    if isinstance(instance, models.Build) and instance.time_zone not in zoneinfo.available_timezones():
        raise Damaged(f"{where}, time_zone: there is no zone “{instance.time_zone[:40]}”.")
    if isinstance(instance, models.Build):
        _look_at_scale(instance, where)
    widths = getattr(instance, "set_widths", {})
    if not all(type(nm) is int and abs(nm) <= LONGEST_NM for nm in widths.values()):
        raise Damaged(f"{where}, set_widths: these are no widths.")
    if isinstance(instance, models.PlanStrake) and not all(map(_is_span, instance.spans)):
        raise Damaged(f"{where}, spans: a stretch is a pair of frame numbers.")
    if isinstance(instance, models.Session) and not all(isinstance(kind, str) for kind in instance.kinds):
        raise Damaged(f"{where}, kinds: these are no words.")
    if isinstance(instance, models.Photo):
        _look_at_photo(instance, where)


def _look_at_scale(build, where: str) -> None:
    """Make the scale as every page does; the table itself would take one that has half its parts."""
    try:
        if build.scale_num is not None or build.scale_den is not None:
            Scale(build.scale_num, build.scale_den)
    except PlankingError as refused:
        raise Damaged(f"{where}, scale_num and scale_den: {refused.sentence}") from None


def _is_span(span) -> bool:
    return isinstance(span, list) and len(span) == 2 and all(type(each) is int and abs(each) < 10**6 for each in span)


def _look_at_photo(photo, where: str) -> None:
    if not _SHA256.fullmatch(photo.sha256):
        raise Damaged(f"{where}, sha256: this is no SHA-256.")
    if photo.media_type not in CONTENT_TYPES.values():
        raise Damaged(f"{where}, media_type: “{photo.media_type}” is no photograph.")
    if not all(isinstance(each, dict) for each in photo.drawn):
        raise Damaged(f"{where}, drawn: these are no marks.")


def _check_references(tables: dict[type, list[Given]]) -> None:
    """Refuse a row that names one that is not in the file: a build stands by itself."""
    known = {table_name(m): {str(g.instance.uuid) for g in rows} for m, rows in tables.items() if hasattr(m, "uuid")}
    for model, rows in tables.items():
        if model is not models.Event and hasattr(model, "uuid") and len(known[table_name(model)]) != len(rows):
            raise Damaged(f"build.json, {table_name(model)}: two rows have one uuid.")
        references = [column for column in columns_of(model) if column.kind == "row"]
        for place, given in enumerate(rows, 1):
            for column in references:
                named = given.names[column.name]
                if named and named not in known[column.names]:
                    raise Damaged(
                        f"build.json, {table_name(model)} {place}, {column.name}: there is no such {column.names}."
                    )


def renamed(document: dict) -> dict:
    """Return a document in which every row has a new uuid, wherever it stands."""
    rows = [(row, model) for model in TABLES for row in document["tables"].get(table_name(model), [])]
    new = {row["uuid"]: str(uuid4()) for row, model in rows if hasattr(model, "uuid") and model is not models.Event}
    tables = {
        table_name(model): [_renamed_row(model, row, new) for row in document["tables"][table_name(model)]]
        for model in TABLES
    }
    photographs = {new.get(name, name): file for name, file in document["photographs"].items()}
    return document | {"tables": tables, "photographs": photographs}


def _renamed_row(model, row: dict, new: dict[str, str]) -> dict:
    kinds = {column.name: column.kind for column in columns_of(model)}
    return {
        name: _replaced(value, new) if kinds.get(name) in ("uuid", "row", "json") else value
        for name, value in row.items()
    }


def _replaced(value, new: dict[str, str]):
    if isinstance(value, str):
        return new.get(value, value)
    if isinstance(value, list):
        return [_replaced(each, new) for each in value]
    if isinstance(value, dict):
        return {new.get(name, name): _replaced(each, new) for name, each in value.items()}
    return value
