"""build.json: written a row a line, always in the same order; read with suspicion."""

import json
import math
from datetime import UTC, date, datetime
from uuid import UUID

from buildlog.archive.trouble import Damaged

# Whole numbers in our tables have 64 bits.
_LONGEST_NUMBER = 20


def plain(value):
    """Return a value of a column as JSON has it."""
    if isinstance(value, UUID):
        return str(value)
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    if isinstance(value, date):
        return value.isoformat()
    return value


def written(document: dict) -> bytes:
    """Return a document as text: its tables a row a line, so that two of them can be laid side by side."""
    head = {name: value for name, value in document.items() if name != "tables"}
    lines = ["{"]
    lines += [f"{_text(name)}: {_text(value)}," for name, value in head.items()]
    tables = [_table(name, rows) for name, rows in document["tables"].items()]
    return "\n".join([*lines, '"tables": {', ",\n".join(tables), "}", "}", ""]).encode("utf-8")


def _table(name, rows) -> str:
    return f"{_text(name)}: [\n" + ",\n".join(_text(row) for row in rows) + "\n]" if rows else f"{_text(name)}: []"


def _text(value) -> str:
    return json.dumps(value, ensure_ascii=False, sort_keys=True, allow_nan=False)


class _Refused(ValueError):
    pass


def read(text: bytes) -> dict:
    """Return the document, or raise Damaged with what is wrong with it."""
    try:
        found = json.loads(
            text.decode("utf-8"), object_pairs_hook=_once, parse_constant=_no_constant, parse_int=_whole,
            parse_float=_finite,
        )  # fmt: skip
    except _Refused as why:
        raise Damaged(f"build.json cannot be read: {why}.") from None
    except UnicodeDecodeError:
        raise Damaged("build.json cannot be read: it is not UTF-8 text.") from None
    except RecursionError:
        raise Damaged("build.json cannot be read: its brackets are nested too deep.") from None
    except ValueError as why:
        line = f", line {why.lineno}" if isinstance(why, json.JSONDecodeError) else ""
        raise Damaged(f"build.json cannot be read: it is not JSON{line}.") from None
    if not isinstance(found, dict):
        raise Damaged("build.json cannot be read: it holds no build.")
    return found


def _once(pairs):
    found = dict(pairs)
    if len(found) != len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise _Refused(f"“{twice[:40]}” stands twice in one row")
    return found


def _no_constant(name):
    raise _Refused(f"{name} is not a number")


def _whole(text):
    if len(text) > _LONGEST_NUMBER:
        raise _Refused(f"the number {text[:12]}… is too long")
    return int(text)


def _finite(text):
    number = float(text)
    if not math.isfinite(number):
        raise _Refused(f"the number {text[:12]} is too large")
    return number
