"""Rows out of one database and into another, whatever the engines: a line of JSON a row."""

import base64
import json
from collections.abc import Iterable, Iterator
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path
from uuid import UUID

from django.core.management.color import no_style
from django.db import connections, models, transaction
from django.utils.dateparse import parse_duration
from django.utils.duration import duration_iso_string

from buildlog.archive.trouble import Damaged

_AT_ONCE = 1000


def tables_with_models(apps) -> dict[str, type[models.Model]]:
    """Return the model for each table that holds rows, those of many-to-many fields included."""
    every = apps.get_models(include_auto_created=True)
    return {model._meta.db_table: model for model in every if model._meta.managed and not model._meta.proxy}


def columns_of(model) -> list[models.Field]:
    return [field for field in model._meta.concrete_fields if not field.generated]


def read_rows(alias: str, model) -> Iterator[list]:
    """Give each row of a table as plain values, in the order of its key."""
    names = [field.attname for field in columns_of(model)]
    rows = model._base_manager.using(alias).order_by("pk").values_list(*names)
    for row in rows.iterator(chunk_size=_AT_ONCE):
        yield list(row)


def write_table(alias: str, model, rows: Iterable[list]) -> int:
    """Put rows into a table as they are: no default, no clock of this machine may touch them."""
    fields = columns_of(model)
    for field in fields:
        # These would put in the present time instead of the row's own.
        field.auto_now = field.auto_now_add = False
    count, batch = 0, []
    for row in rows:
        batch.append(model(**dict(zip((field.attname for field in fields), row, strict=True))))
        if len(batch) == _AT_ONCE:
            count += len(model._base_manager.using(alias).bulk_create(batch))
            batch = []
    return count + len(model._base_manager.using(alias).bulk_create(batch))


def dump_table(alias: str, model, path: Path) -> int:
    """Write a table to a file and return how many rows it has."""
    count = 0
    with path.open("w", encoding="utf-8", newline="\n") as out:
        out.write(json.dumps([field.attname for field in columns_of(model)]) + "\n")
        for row in read_rows(alias, model):
            out.write(json.dumps([_plain(value) for value in row], ensure_ascii=False) + "\n")
            count += 1
    return count


def dumped_rows(path: Path, model) -> Iterator[list]:
    """Give the rows of a file that `dump_table` wrote."""
    fields = columns_of(model)
    with path.open(encoding="utf-8") as file:
        try:
            if json.loads(next(file)) != [field.attname for field in fields]:
                raise Damaged(f"{path.name} in the backup has other columns than its version had.")
            for line in file:
                yield [_back(field, value) for field, value in zip(fields, json.loads(line), strict=True)]
        except (ValueError, StopIteration):
            raise Damaged(f"{path.name} in the backup cannot be read.") from None


def _plain(value):
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    if isinstance(value, UUID | Decimal):
        return str(value)
    if isinstance(value, timedelta):
        return duration_iso_string(value)
    if isinstance(value, bytes | bytearray | memoryview):
        return base64.b64encode(bytes(value)).decode("ascii")
    return value


def _back(field, value):
    if value is None or isinstance(field, models.JSONField):
        return value
    if isinstance(field, models.BinaryField):
        return base64.b64decode(value)
    if isinstance(field, models.DurationField):
        return parse_duration(value)
    if isinstance(field, models.ForeignKey):
        return field.target_field.to_python(value)
    return field.to_python(value)


def load(alias: str, apps, rows_of) -> dict[str, int]:
    """Fill an empty database whose tables are those of `apps`; `rows_of(table, model)` gives each table's
    rows.

    What its migrations put in is taken out first, because the rows bring it along.
    """
    connection = connections[alias]
    tables = tables_with_models(apps)
    flush = connection.ops.sql_flush(no_style(), list(tables), reset_sequences=True, allow_cascade=False)
    connection.ops.execute_sql_flush(flush)
    with transaction.atomic(using=alias):
        counts = {table: write_table(alias, model, rows_of(table, model)) for table, model in tables.items()}
        connection.check_constraints()
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), list(tables.values())):
            cursor.execute(statement)
    return counts
