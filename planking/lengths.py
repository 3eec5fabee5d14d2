"""Lengths: read as people type them, kept exact, shown back in mm and in full-size feet, inches, fractions.

This is the one file of planking that pages may use directly. Units, scales, rounding, the ways to show a
length and the guess at a mistaken unit are kept in files of their own and offered here under the same names.
"""

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from planking.errors import PlankingError, refusal
from planking.figures import FIGURE, LONGEST_TEXT, clean, read_figure
from planking.other_units import OtherReading, likely_other_unit, question_about
from planking.rounding import NM, RoundedRun, from_nm, nm_remainder, round_run, split_nm, to_nm
from planking.scales import FULL_SIZE, Scale, read_scale, scale_of_inches_to_the_foot, scale_of_ratio
from planking.shown_lengths import FractionText, show_decimal_inch, show_full_size, show_mm
from planking.units import FOOT_MM, INCH_MM, UNIT_MM, Number, Size, Unit, exact_mm

__all__ = [
    "FOOT_MM", "FULL_SIZE", "INCH_MM", "LONGEST_MM", "LONGEST_TEXT", "NM", "UNIT_MM",
    "FractionText", "Length", "Notation", "Number", "OtherReading", "PlankingError", "RoundedRun",
    "Scale", "Size", "Unit", "exact_mm", "from_nm", "likely_other_unit", "nm_remainder", "question_about",
    "read_implied_point", "read_length", "read_scale", "round_run", "scale_of_inches_to_the_foot",
    "scale_of_ratio", "show_decimal_inch", "show_full_size", "show_mm", "split_nm", "to_nm",
]  # fmt: skip

Notation = Literal["plain", "feet-inches-eighths"]

LONGEST_MM = Fraction(1_000_000)
"""One kilometre: longer than any ship, so a longer figure is a slip."""

_SPELLINGS: dict[str, Unit] = {
    "mm": "mm", "millimetre": "mm", "millimetres": "mm", "millimeter": "mm", "millimeters": "mm",
    "cm": "cm", "m": "m", "thou": "thou",
    "in": "in", "ins": "in", "inch": "in", "inches": "in", '"': "in", "''": "in",
    "ft": "ft", "foot": "ft", "feet": "ft", "'": "ft",
}  # fmt: skip
_WORD = r"(mm|millimet(?:re|er)s?|cm|m|thou|ins?|inch|inches|ft|foot|feet|''|'|\")\.?"
_ONE = re.compile(rf"({FIGURE})\s*(?:{_WORD})?", re.ASCII)
_FEET_INCHES = re.compile(
    rf"({FIGURE})\s*(?:(?:ft|foot|feet)\.?|'(?!'))(?:,\s+|\s+and\s+|\s*-\s*|\s*)"
    rf"(?=[\d.])({FIGURE})\s*(?:(?:ins?|inch|inches)\.?|''|\")?",
    re.ASCII,
)
_EIGHTHS = re.compile(r"(\d{1,3})-(\d{1,2})-(\d)(\+?)", re.ASCII)
_SENTENCE = "write one length, such as 4.76, 3 1/4 in or 9' 4 1/2\""


@dataclass(frozen=True)
class Length:
    """A length as typed and as meant.

    `mm` is exact and on the model; `typed` is the text as the person typed it, `unit` the unit it was read
    in, `size` whether it was typed at model or full size, `unit_written` whether the person wrote the unit
    themselves.
    """

    mm: Fraction
    typed: str
    unit: Unit
    size: Size
    unit_written: bool = False

    @property
    def nm(self) -> int:
        """Whole nanometres on the model, as records keep them."""
        return to_nm(self.mm)


def read_length(
    text: str,
    *,
    field: str,
    unit: Unit = "mm",
    size: Size = "model",
    scale: Scale | None = None,
    notation: Notation = "plain",
    allow_zero: bool = True,
    allow_negative: bool = False,
) -> Length:
    """Return the length a person typed, exact, in mm on the model.

    `unit` is what a figure without a unit means; a unit in the text wins. `size` says whether the figure is
    the model's or the ship's; the ship's needs the `scale`. `1-07-4` (feet, inches, eighths; a plus adds half
    an eighth) is read only with that notation, since it looks like three other things. 1 in = 25.4 mm exactly
    (the agreement of 1959: addendum to NBS Circular 572).

    >>> read_length("3 1/4 in", field="width", size="full", scale=Scale(1, 48)).mm
    Fraction(1651, 960)
    >>> read_length("82,5 mm", field="girth").mm
    Fraction(165, 2)

    Raises PlankingError, naming `field`, for what a person would not read as one length, for a length below
    zero (or zero, where `allow_zero` is off), and for a bare fraction where figures are mm.
    """
    if unit not in UNIT_MM:
        raise refusal(field, f'"{unit}" is not a unit known here')
    plain = clean(text, field=field)
    used: Unit = "ft"
    if notation == "feet-inches-eighths":
        typed_mm, written = _eighths(plain, field=field), True
    else:
        typed_mm, used, written = _plain(plain, field=field, unit=unit, allow_negative=allow_negative)
    if typed_mm == 0 and not allow_zero:
        raise refusal(field, "must be more than nothing")
    if abs(typed_mm) > LONGEST_MM:
        raise refusal(field, "is longer than any ship")
    if size == "full" and scale is None:
        raise refusal(field, "is at full size, so the scale of the model is needed first")
    on_model = scale.to_model_mm(typed_mm) if size == "full" and scale else typed_mm
    return Length(on_model, text, used, size, written)


def read_implied_point(
    text: str,
    *,
    field: str,
    places: int,
    unit: Unit = "mm",
    size: Size = "model",
    scale: Scale | None = None,
) -> Length:
    """Return the length of figures typed without their point: `476` with two places is 4.76.

    For quick entry from a caliper that always shows the same number of places. Figures alone need at least
    one more than `places` (so that `9` is not taken for 0.09); text with a point, comma, fraction or unit is
    read as it stands.

    >>> read_implied_point("476", field="width at M", places=2).mm
    Fraction(119, 25)

    Raises PlankingError for too few figures, and for all that `read_length` refuses.
    """
    plain = clean(text, field=field)
    if not re.fullmatch(r"\d+", plain, re.ASCII):
        return read_length(text, field=field, unit=unit, size=size, scale=scale)
    if len(plain) <= places:
        raise refusal(field, f"write at least {places + 1} figures, or write the point yourself")
    pointed = f"{plain[:-places]}.{plain[-places:]}" if places else plain
    read = read_length(pointed, field=field, unit=unit, size=size, scale=scale)
    return Length(read.mm, text, read.unit, read.size, read.unit_written)


def _plain(plain: str, *, field: str, unit: Unit, allow_negative: bool) -> tuple[Fraction, Unit, bool]:
    sign, body = (plain[0], plain[1:].lstrip()) if plain[0] in "+-" else ("+", plain)
    if re.search(r"(?<![a-zA-Z])M\.?$", body):
        raise refusal(field, f'"{plain}" is not read; for metres write a small m')
    value, used, written = _unsigned(body.lower(), plain, field=field, unit=unit)
    if sign == "-" and value == 0:
        raise refusal(field, f'"{plain}" is not read; nothing has no sign')
    if sign == "-" and not allow_negative:
        raise refusal(field, "cannot be below zero")
    return (-value if sign == "-" else value), used, written


def _unsigned(body: str, plain: str, *, field: str, unit: Unit) -> tuple[Fraction, Unit, bool]:
    if match := _FEET_INCHES.fullmatch(body):
        return _feet_inches(match[1], match[2], field=field), "ft", True
    match = _ONE.fullmatch(body)
    if not match:
        raise refusal(field, f'"{plain}" is not read; {_SENTENCE}')
    figure, word = match.groups()
    if word is None and "/" in figure and unit not in ("in", "ft"):
        value = f"{float(read_figure(figure, field=field)):.6g}"
        raise refusal(field, f"a fraction needs its unit here; write {figure} in, or {value} {unit}")
    used = unit if word is None else _SPELLINGS[word]
    return read_figure(figure, field=field) * UNIT_MM[used], used, word is not None


def _feet_inches(feet: str, inches: str, *, field: str) -> Fraction:
    whole_feet, part = read_figure(feet, field=field), read_figure(inches, field=field)
    if whole_feet.denominator != 1:
        raise refusal(field, "has inches behind a part of a foot")
    if part >= 12:
        raise refusal(field, "has twelve inches or more behind the feet")
    return whole_feet * FOOT_MM + part * INCH_MM


def _eighths(plain: str, *, field: str) -> Fraction:
    match = _EIGHTHS.fullmatch(plain)
    if not match:
        raise refusal(field, f'"{plain}" is not feet-inches-eighths, such as 1-07-4')
    feet, inches, eighths = (int(part) for part in match.groups()[:3])
    if inches >= 12 or eighths >= 8:
        raise refusal(field, f'"{plain}" has more than 11 inches or more than 7 eighths')
    half = Fraction(1, 16) if match[4] else Fraction(0)
    return feet * FOOT_MM + (inches + Fraction(eighths, 8) + half) * INCH_MM
