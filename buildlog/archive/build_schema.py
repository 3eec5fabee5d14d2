"""The published JSON Schema of build.json, made from the same description as the export and the import."""

import json
from pathlib import Path

from buildlog.archive.build_tables import SCHEMA, TABLES, VERSION, Column, columns_of, table_name

PATH = Path(__file__).with_name("build.schema.json")

_KINDS = {
    "uuid": {"type": "string", "format": "uuid"},
    "row": {"type": "string", "format": "uuid"},
    "flag": {"type": "boolean"},
    "moment": {"type": "string", "format": "date-time"},
    "day": {"type": "string", "format": "date"},
    "whole": {"type": "integer"},
    "text": {"type": "string"},
    "json": {"type": ["object", "array"]},
}


def schema() -> dict:
    """Return the JSON Schema (draft 2020-12) of build.json."""
    tables = {table_name(model): {"type": "array", "items": _row(model)} for model in TABLES}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"{SCHEMA}, version {VERSION}",
        "description": (
            "One build: every row of every table. Columns that end in _nm are whole nanometres on the model. "
            "Rows name each other by uuid. Times are UTC."
        ),
        **_object(
            {
                "schema": {"const": SCHEMA},
                "version": {"const": VERSION},
                "with_originals": {"type": "boolean", "description": "false: photographs are published copies"},
                "photographs": {
                    "type": "object",
                    "description": "photo uuid to the file in this ZIP",
                    "additionalProperties": {"type": "string"},
                },
                "tables": _object(tables),
            }
        ),
    }


def written() -> bytes:
    return (json.dumps(schema(), indent=1) + "\n").encode("utf-8")


def _object(properties: dict) -> dict:
    return {"type": "object", "properties": properties, "required": list(properties), "additionalProperties": False}


def _row(model) -> dict:
    return _object({column.name: _value(column) for column in columns_of(model)})


def _value(column: Column) -> dict:
    told = dict(_KINDS[column.kind])
    if column.kind == "row":
        told["description"] = f"uuid of a row of {column.names}"
    if column.field.max_length and column.kind == "text":
        told["maxLength"] = column.field.max_length
    if column.kind == "text" and column.field.choices:
        told["enum"] = sorted({value for value, _ in column.field.choices} | ({""} if column.field.blank else set()))
    return {"anyOf": [told, {"type": "null"}]} if column.may_be_null else told
