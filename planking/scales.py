"""Scales: how much smaller the model is, as a ratio or as inches to the foot."""

import re
from dataclasses import dataclass
from fractions import Fraction

from planking.errors import refusal
from planking.figures import FIGURE, clean, read_figure
from planking.units import FOOT_MM, INCH_MM

SMALLEST_MODEL = 5000
"""A model smaller than 1:5000 is a typing slip: a 60 m ship would be 12 mm long."""

_UNIT_MM = {
    "mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000),
    "in": INCH_MM, '"': INCH_MM, "inch": INCH_MM, "inches": INCH_MM,
    "ft": FOOT_MM, "'": FOOT_MM, "foot": FOOT_MM, "feet": FOOT_MM,
}  # fmt: skip
_UNIT = r"(mm|cm|m|inches|inch|in|ft|foot|feet|'|\")\.?"
_RATIO = re.compile(rf"(?:scale\s+)?({FIGURE})\s*(?::|\s+to\s+|=)\s*({FIGURE})(?:\s+scale)?", re.ASCII)
_PAIR = re.compile(
    rf"({FIGURE})\s*{_UNIT}\s*(?:=|:|/|to\s+(?:the\s+)?|per\s+)\s*({FIGURE})?\s*{_UNIT}"
    r"(?:\s*-?\s*0\s*(?:in\.?|\"))?",
    re.ASCII,
)
_TO_THE_FOOT = re.compile(rf"({FIGURE})\s*(?:inches|inch|in|\")\.?(?:\s+scale)?", re.ASCII)
_BARE_FRACTION = re.compile(r"(\d+)\s*/\s*(\d+)(?:\s+scale)?", re.ASCII)
_BARE_FIGURE = re.compile(r"\d+(?:[.,]\d+)?", re.ASCII)


def _refuse_strange_ratio(ratio: Fraction, *, field: str) -> None:
    if ratio < 1:
        raise refusal(field, "would make the model larger than the ship")
    if ratio > SMALLEST_MODEL:
        raise refusal(field, f"would make the model smaller than 1:{SMALLEST_MODEL}")


@dataclass(frozen=True)
class Scale:
    """A scale as `numerator : denominator`, model to full size, kept in lowest terms.

    >>> Scale(1, 48).to_model_mm(Fraction(3048, 10))
    Fraction(127, 20)
    >>> Scale(1, 48).inches_to_the_foot
    Fraction(1, 4)
    """

    numerator: int
    denominator: int

    def __post_init__(self) -> None:
        for name in ("numerator", "denominator"):
            part = getattr(self, name)
            if isinstance(part, bool) or not isinstance(part, int) or part < 1:
                raise refusal("scale", f"its {name} must be a whole number above zero")
        lowest = Fraction(self.numerator, self.denominator)
        _refuse_strange_ratio(1 / lowest, field="scale")
        object.__setattr__(self, "numerator", lowest.numerator)
        object.__setattr__(self, "denominator", lowest.denominator)

    @property
    def ratio(self) -> Fraction:
        """Full size over model: 48 for 1:48."""
        return Fraction(self.denominator, self.numerator)

    @property
    def inches_to_the_foot(self) -> Fraction:
        """Inches on the model for a foot of the ship: 12 over the ratio (1:48 is 1/4)."""
        return 12 / self.ratio

    def to_model_mm(self, full_size_mm: Fraction) -> Fraction:
        """Return the length on the model of a length of the ship."""
        return full_size_mm / self.ratio

    def to_full_size_mm(self, model_mm: Fraction) -> Fraction:
        """Return the length of the ship for a length on the model."""
        return model_mm * self.ratio

    def __str__(self) -> str:
        ratio = self.ratio
        if ratio.denominator == 1:
            return f"1:{ratio.numerator}"
        figures = f"{float(ratio):.10g}"
        return f"1:{figures}" if Fraction(figures) == ratio else f"{self.numerator}:{self.denominator}"


FULL_SIZE = Scale(1, 1)


def scale_of_ratio(ratio: Fraction, *, field: str = "scale") -> Scale:
    """Return the scale whose ship is `ratio` times the model: 48 gives 1:48.

    >>> str(scale_of_ratio(Fraction("76.2")))
    '1:76.2'

    Raises PlankingError for a ratio under 1 or over 5000.
    """
    if ratio <= 0:
        raise refusal(field, "must be more than nothing")
    _refuse_strange_ratio(ratio, field=field)
    return Scale(ratio.denominator, ratio.numerator)


def scale_of_inches_to_the_foot(inches: Fraction, *, field: str = "scale") -> Scale:
    """Return the scale that draws a foot of the ship as so many inches: 3/16 gives 1:64.

    Ratio = 12 / inches (the trade's own table: 1/4 is 1:48, 1/8 is 1:96, 3/16 is 1:64).

    >>> str(scale_of_inches_to_the_foot(Fraction(3, 16)))
    '1:64'

    Raises PlankingError when the inches are nothing, negative, or more than twelve.
    """
    if inches <= 0:
        raise refusal(field, "must be more than nothing")
    return scale_of_ratio(12 / inches, field=field)


def read_scale(text: str, *, field: str = "scale") -> Scale:
    """Return the scale a person typed: `1:48`, `1/48`, `48`, `1/4 in = 1 ft`, `3/16`, `1 cm = 1 m`.

    A bare `3/16` or `1/4` means inches to the foot, a bare `1/48` the ratio. `1/8`, `1/16` and `1/32` are in
    use both ways (1:8 and 1:96, 1:16 and 1:192, 1:32 and 1:384), so these three are asked for in full.

    >>> str(read_scale("1/4 in = 1 ft")), str(read_scale("3/16")), str(read_scale("1:48"))
    ('1:48', '1:64', '1:48')

    Raises PlankingError, naming the field, for anything else.
    """
    typed = clean(text, field=field)
    plain = typed.lower()
    if match := _RATIO.fullmatch(plain):
        model, full = (read_figure(part, field=field) for part in match.groups())
        return _scale_of_pair(model, full, field=field)
    if match := _PAIR.fullmatch(plain):
        model = read_figure(match[1], field=field) * _UNIT_MM[match[2]]
        full = read_figure(match[3] or "1", field=field) * _UNIT_MM[match[4]]
        return _scale_of_pair(model, full, field=field)
    if match := _TO_THE_FOOT.fullmatch(plain):
        return scale_of_inches_to_the_foot(read_figure(match[1], field=field), field=field)
    if match := _BARE_FRACTION.fullmatch(plain):
        return _scale_of_bare_fraction(int(match[1]), int(match[2]), field=field)
    if _BARE_FIGURE.fullmatch(plain):
        return scale_of_ratio(read_figure(plain, field=field), field=field)
    raise refusal(field, f'"{typed}" is not read as a scale; write 1:48 or 1/4 in = 1 ft')


def _scale_of_pair(model: Fraction, full: Fraction, *, field: str) -> Scale:
    if model <= 0 or full <= 0:
        raise refusal(field, "both sides must be more than nothing")
    return scale_of_ratio(full / model, field=field)


def _scale_of_bare_fraction(top: int, bottom: int, *, field: str) -> Scale:
    if top == 0 or bottom == 0:
        raise refusal(field, "both figures must be more than nothing")
    if top == 1 and bottom in (8, 16, 32):
        raise refusal(field, f'"1/{bottom}" can be read two ways; write 1:{bottom} or 1/{bottom} in = 1 ft')
    if top == 1 and bottom > 4:
        return scale_of_ratio(Fraction(bottom), field=field)
    return scale_of_inches_to_the_foot(Fraction(top, bottom), field=field)
