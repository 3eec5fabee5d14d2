"""From JSON to the dataclasses of a task: strict about form, generous about how a length is written.

Types read: `str`, `bool`, `int`, `Fraction`, `float` (and unions of these two with `int`), `Literal[...]`,
`Scale`, other dataclasses, `tuple[X, ...]`, `dict[str, X]`, `Mapping[str, X]`, and any of these `| None`. Any
number may be given as text. The end of a key says what a number is: `_mm` a length on the model, `_in` the
same length at full size in inches (where the outermost dataclass has a `scale`), anything else a plain
figure.
"""

import json
import math
import re
import types
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, fields, is_dataclass
from fractions import Fraction
from typing import Any, Literal, TypeVar, Union, cast, get_args, get_origin, get_type_hints

from planking.errors import PlankingError, refusal
from planking.figures import FIGURE, clean, read_figure
from planking.lengths import INCH_MM, LONGEST_MM, Scale, read_length, read_scale, scale_of_ratio

LARGEST_BYTES = 10_000_000
"""10 MB: hundreds of times the largest hull."""
LONGEST_FIGURE = 60
"""Characters of a number in a file; more are a slip, and slow to turn into a number."""

T = TypeVar("T")


@dataclass(frozen=True)
class _Place:
    """Where in the input we are: the path to name, the key that says the unit, the scale if known."""

    path: str
    key: str
    scale: Scale | None
    may_be_full_size: bool

    def within(self, step: str, key: str) -> "_Place":
        dot = "." if self.path and not step.startswith("[") else ""
        return _Place(f"{self.path}{dot}{step}", key, self.scale, self.may_be_full_size)

    def refuse(self, reason: str) -> PlankingError:
        return refusal(self.path or "input", reason)


def parse_json(raw: bytes) -> object:
    """Return what a JSON file holds, numbers exact; whatever two readers could take two ways is refused.

    >>> parse_json(b'{"gap_mm": 22.16}')
    {'gap_mm': Fraction(554, 25)}

    Raises PlankingError for over 10 MB, NaN, infinities, a key given twice, and what is not JSON in UTF-8.
    """
    if len(raw) > LARGEST_BYTES:
        raise PlankingError("input", "The input is over 10 MB; that is more than any hull.")
    try:
        text = raw.decode("utf-8-sig")
        return json.loads(
            text,
            parse_float=_exact,
            parse_int=_whole,
            parse_constant=_no_constant,
            object_pairs_hook=_no_twins,
        )
    except UnicodeDecodeError:
        raise PlankingError("input", "The input is not text in UTF-8.") from None
    except json.JSONDecodeError as wrong:
        where = f"line {wrong.lineno}, character {wrong.colno}"
        raise PlankingError("input", f"The input is not JSON: {wrong.msg} at {where}.") from None
    except RecursionError:
        raise PlankingError("input", "The input is nested too deeply.") from None


def read_given(kind: type[T], given: object) -> T:
    """Return the dataclass made from parsed JSON.

    >>> from planking.tasks.round import Asked
    >>> read_given(Asked, {"widths_mm": ["4,76", 4.5], "step_mm": "0.05"}).widths_mm
    (Fraction(119, 25), Fraction(9, 2))

    Raises PlankingError naming the key at fault with its path, as `stations[2].gap_mm`.
    """
    names = {one.name for one in fields(cast(Any, kind))}
    scale = None
    if "scale" in names and isinstance(given, dict) and given.get("scale") is not None:
        scale = _scale(given["scale"], _Place("scale", "scale", None, True))
    place = _Place("", "", scale, "scale" in names)
    return cast(T, _dataclass(kind, given, place))


def _exact(text: str) -> Fraction:
    if len(text) > LONGEST_FIGURE or re.search(r"[eE][+-]?0*[0-9]{3}", text):
        raise PlankingError("input", f'The number "{text[:20]}..." is out of reason.')
    return Fraction(text)


def _whole(text: str) -> int:
    if len(text) > LONGEST_FIGURE:
        raise PlankingError("input", f'The number "{text[:20]}..." is out of reason.')
    return int(text)


def _no_constant(text: str) -> None:
    raise PlankingError("input", f"The input holds {text}, which is no number.")


def _no_twins(pairs: list[tuple[str, object]]) -> dict[str, object]:
    found: dict[str, object] = {}
    for key, value in pairs:
        if key in found:
            raise PlankingError(key, f'The key "{key}" is given twice in one object.')
        found[key] = value
    return found


def _value(kind: Any, given: object, place: _Place) -> object:
    origin, inner = get_origin(kind), get_args(kind)
    if origin in (Union, types.UnionType):
        if given is None and type(None) in inner:
            return None
        kinds = [one for one in inner if one is not type(None)]
        # A union of number types is read exactly; the arithmetic takes Fractions wherever it takes numbers.
        return _value(kinds[0] if len(kinds) == 1 else Fraction, given, place)
    if given is None:
        raise place.refuse("must not be null")
    if origin is Literal:
        return _choice(inner, given, place)
    if origin is tuple:
        return _row(inner, given, place)
    if origin in (dict, Mapping):
        return _table(inner[1], given, place)
    if is_dataclass(kind) and kind is not Scale:
        return _dataclass(cast(type, kind), given, place)
    return _plain_value(kind, given, place)


def _plain_value(kind: Any, given: object, place: _Place) -> object:
    if kind is Scale:
        return _scale(given, place)
    if kind is str:
        if not isinstance(given, str):
            raise place.refuse("must be text in quotes")
        return _whole_text(given, place)
    if kind is bool:
        if not isinstance(given, bool):
            raise place.refuse("must be true or false")
        return given
    number = _number(given, place)
    if kind is int:
        if number.denominator != 1:
            raise place.refuse("must be a whole number")
        return int(number)
    return float(number) if kind is float else number


def _choice(choices: tuple[object, ...], given: object, place: _Place) -> object:
    for choice in choices:
        if type(given) is type(choice) and given == choice:
            return choice
    raise place.refuse(f"must be one of {', '.join(map(str, choices))}")


def _row(inner: tuple[Any, ...], given: object, place: _Place) -> tuple[object, ...]:
    if not isinstance(given, list):
        raise place.refuse("must be a list in square brackets")
    kinds = [inner[0]] * len(given) if inner[-1] is Ellipsis else list(inner)
    if len(kinds) != len(given):
        raise place.refuse(f"must be a list of {len(kinds)}")
    parts = zip(kinds, given, strict=True)
    return tuple(_value(kind, one, place.within(f"[{i}]", place.key)) for i, (kind, one) in enumerate(parts))


def _table(kind: Any, given: object, place: _Place) -> dict[str, object]:
    if not isinstance(given, dict):
        raise place.refuse("must be an object in braces")
    return {
        _whole_text(key, place): _value(kind, one, place.within(f"[{key}]", place.key))
        for key, one in given.items()
    }


def _dataclass(kind: type, given: object, place: _Place) -> object:
    if not isinstance(given, dict):
        raise place.refuse("must be an object in braces")
    hints = get_type_hints(kind)
    found: dict[str, object] = {}
    _refuse_unknown(kind, given, place)
    for one in fields(cast(Any, kind)):
        key = _key_used(one.name, given, place)
        if key is not None:
            found[one.name] = _value(hints[one.name], given[key], place.within(key, key))
        elif one.default is MISSING and one.default_factory is MISSING:
            raise place.within(one.name, one.name).refuse("is missing")
    try:
        return kind(**found)
    except PlankingError as refused:
        # The dataclass names its own field; the caller needs the way to it.
        raise PlankingError(place.within(refused.field, "").path, refused.sentence) from None


def _refuse_unknown(kind: type, given: Mapping[str, object], place: _Place) -> None:
    names = [one.name for one in fields(cast(Any, kind))]
    known = {*names, *(_at_full_size(name, place) for name in names)}
    for key in given:
        if key not in known:
            where = f" in {place.path}" if place.path else ""
            raise PlankingError(place.within(key, key).path, f'The key "{key}" is not known{where}.')


def _at_full_size(name: str, place: _Place) -> str:
    """The key under which a length may be given in full-size inches; the name itself where it may not."""
    return f"{name[:-3]}_in" if name.endswith("_mm") and place.may_be_full_size else name


def _key_used(name: str, given: Mapping[str, object], place: _Place) -> str | None:
    at_full_size = _at_full_size(name, place)
    if at_full_size != name and at_full_size in given and name in given:
        raise place.within(name, name).refuse(f"is given twice, as {name} and as {at_full_size}")
    return next((key for key in (name, at_full_size) if key in given), None)


def _whole_text(text: str, place: _Place) -> str:
    if any("\ud800" <= sign <= "\udfff" for sign in text):
        raise place.refuse("holds half a sign, which cannot be printed")
    return text


def _scale(given: object, place: _Place) -> Scale:
    if isinstance(given, str):
        return read_scale(given, field=place.path)
    return scale_of_ratio(_number(given, place), field=place.path)


def _number(given: object, place: _Place) -> Fraction:
    if isinstance(given, float) and math.isfinite(given):
        # Only callers in Python hand over floats; the shortest text of one is what they wrote.
        given = Fraction(repr(given))
    if isinstance(given, bool) or not isinstance(given, int | Fraction | str):
        raise place.refuse("must be a number, or text that says one")
    if place.key.endswith("_in") and place.may_be_full_size:
        return _in_reason(_full_size(given, place), place)
    if place.key.endswith("_mm"):
        if isinstance(given, str):
            return read_length(given, field=place.path, allow_negative=True).mm
        return _in_reason(Fraction(given), place)
    return _figure(given, place) if isinstance(given, str) else Fraction(given)


def _in_reason(value_mm: Fraction, place: _Place) -> Fraction:
    if abs(value_mm) > LONGEST_MM:
        raise place.refuse("is longer than any ship")
    return value_mm


def _full_size(given: int | Fraction | str, place: _Place) -> Fraction:
    if place.scale is None:
        raise place.refuse('is at full size, so "scale" is needed beside it')
    if isinstance(given, str):
        return read_length(
            given, field=place.path, unit="in", size="full", scale=place.scale, allow_negative=True
        ).mm
    return place.scale.to_model_mm(given * INCH_MM)


def _figure(given: str, place: _Place) -> Fraction:
    plain = clean(given, field=place.path)
    match = re.fullmatch(rf"([+-]?)({FIGURE})", plain, re.ASCII)
    if not match:
        raise place.refuse(f'is "{plain}", which is not read as a figure')
    value = read_figure(match[2], field=place.path)
    return -value if match[1] == "-" else value
