"""The JSON Schema (2020-12) of a task, made from its dataclasses, so that the two cannot differ."""

import inspect
import math
import types
from collections.abc import Mapping
from dataclasses import MISSING, fields, is_dataclass
from fractions import Fraction
from typing import Any, Literal, Union, cast, get_args, get_origin, get_type_hints

from planking.json_told import told
from planking.scales import Scale
from planking.tasks import CannotBeDone, Task

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def schema_of(task: Task) -> dict[str, object]:
    """Return the schemas of a task's input and output.

    >>> from planking.tasks import task_named
    >>> sorted(schema_of(task_named("round")))
    ['input', 'output']
    """
    cannot = CannotBeDone if _may_be_impossible(task) else None
    return {
        "input": _whole(task.Asked, given=True),
        "output": _whole(task.Answered, given=False, or_else=cannot),
    }


def _may_be_impossible(task: Task) -> bool:
    hints = get_type_hints(task.answer)
    kinds = get_args(hints.get("return")) or (hints.get("return"),)
    return any(inspect.isclass(kind) and issubclass(kind, CannotBeDone) for kind in kinds)


def _whole(kind: type, *, given: bool, or_else: type | None = None) -> dict[str, object]:
    names = {one.name for one in fields(cast(Any, kind))}
    writer = _Writer(given, full_size=given and "scale" in names)
    shape = writer.shape(kind, "")
    if or_else is not None:
        shape = {"anyOf": [shape, writer.shape(or_else, "")]}
    return {"$schema": DIALECT, **shape, "$defs": writer.definitions}


class _Writer:
    """Writes shapes, keeping each dataclass once under `$defs`."""

    def __init__(self, given: bool, full_size: bool) -> None:
        self.given = given
        self.full_size = full_size
        self.definitions: dict[str, object] = {}

    def shape(self, kind: Any, key: str) -> dict[str, object]:
        origin, inner = get_origin(kind), get_args(kind)
        if origin in (Union, types.UnionType):
            return self._union(inner, key)
        if origin is Literal:
            return {"enum": list(inner)}
        if origin is tuple:
            if inner[-1] is Ellipsis:
                return {"type": "array", "items": self.shape(inner[0], key)}
            rows = [self.shape(one, key) for one in inner]
            return {"type": "array", "prefixItems": rows, "items": False, "minItems": len(rows)}
        if origin in (dict, Mapping):
            return {"type": "object", "additionalProperties": self.shape(inner[1], key)}
        if is_dataclass(kind) and kind is not Scale:
            return self._reference(cast(type, kind))
        return self._plain(kind, key)

    def _union(self, inner: tuple[Any, ...], key: str) -> dict[str, object]:
        kinds = [one for one in inner if one is not type(None)]
        shape = self.shape(kinds[0] if len(kinds) == 1 else Fraction, key)
        return shape if len(kinds) == len(inner) else {"anyOf": [shape, {"type": "null"}]}

    def _plain(self, kind: Any, key: str) -> dict[str, object]:
        if kind is Scale:
            words = "a ratio such as 1:48, or inches to the foot such as 1/4 in = 1 ft"
            return {"type": ["string", "number"] if self.given else "string", "description": words}
        if kind is str:
            return {"type": "string"}
        if kind is bool:
            return {"type": "boolean"}
        number = "integer" if kind is int else "number"
        shape: dict[str, object] = {"type": [number, "string"] if self.given else number}
        return shape | ({"description": _unit(key)} if _unit(key) else {})

    def _reference(self, kind: type) -> dict[str, object]:
        name = kind.__name__
        if name not in self.definitions:
            self.definitions[name] = {}
            self.definitions[name] = self._definition(kind)
        return {"$ref": f"#/$defs/{name}"}

    def _definition(self, kind: type) -> dict[str, object]:
        hints = get_type_hints(kind)
        properties: dict[str, object] = {}
        required: list[str] = []
        either: list[dict[str, object]] = []
        for one in fields(cast(Any, kind)):
            shape = self.shape(hints[one.name], one.name)
            is_needed = one.default is MISSING and one.default_factory is MISSING
            if one.default is not MISSING and one.default != math.inf:
                shape = shape | {"default": told(one.default)}
            properties[one.name] = shape
            inches = f"{one.name[:-3]}_in"
            if self.full_size and one.name.endswith("_mm"):
                properties[inches] = self.shape(hints[one.name], inches)
                either += [_one_of(one.name, inches, is_needed)]
            elif is_needed or not self.given:
                required.append(one.name)
        about = inspect.cleandoc(kind.__doc__ or "").split("\n\n")[0].replace("\n", " ")
        shape = {"type": "object", "description": about, "properties": properties, "required": required}
        return shape | {"additionalProperties": False} | ({"allOf": either} if either else {})


def _one_of(mm: str, inches: str, is_needed: bool) -> dict[str, object]:
    if is_needed:
        return {"oneOf": [{"required": [mm]}, {"required": [inches]}]}
    return {"not": {"required": [mm, inches]}}


def _unit(key: str) -> str:
    units = {"_mm": "mm on the model", "_in": "inches at full size", "_nm": "nanometres on the model"}
    return units.get(key[-3:], "")
