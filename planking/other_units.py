"""Does a figure look as if it was typed in another unit? Asked, never changed."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from planking.errors import refusal
from planking.scales import Scale
from planking.units import INCH_MM, UNIT_MM, Number, Size, Unit, exact_mm

FAR = Fraction(15, 100)
"""A figure this share off the planned width is asked about (the range check of the entry page)."""
NEAR = Fraction(4, 100)
"""Inside this share (the visible change) a figure is never asked about."""
BETTER = 4
"""Between the two it is asked about only when another reading is this many times nearer."""

Mistake = Literal["unit", "size", "unit and size", "point", "unit and point", "sixty-fourths"]


@dataclass(frozen=True)
class OtherReading:
    """What the figure would be if it was meant otherwise: `mm` on the model, and the words to ask with."""

    mm: Fraction
    mistake: Mistake
    unit: Unit
    size: Size
    words: str


def likely_other_unit(
    value_mm: Number,
    expected_mm: Number,
    scale: Scale | None = None,
    *,
    unit: Unit = "mm",
    size: Size = "model",
) -> tuple[OtherReading, ...]:
    """Return the other readings of a figure that come near the planned width, likeliest first; mostly none.

    `value_mm` is the length on the model as it was read, `unit` and `size` say how it was read, so the figure
    the person typed is known again. It is read afresh as mm and as inches, at model and at full size, as
    sixty-fourths of an inch, and with a point one, two or three figures from its end; those within 15 % of
    `expected_mm` are returned. A figure within 4 % of the planned width is never questioned; one within 15 %
    only when another reading is at least four times nearer. Shares are of the planned width. Derived here.
    Nothing is changed: the page asks.

    >>> [(answer.words, float(answer.mm)) for answer in likely_other_unit(9, 4.76, Scale(1, 48))]
    [('9 in at full size', 4.7625)]

    Raises PlankingError when a number is not finite or the planned width is not above zero.
    """
    value, expected = exact_mm(value_mm, field="value_mm"), exact_mm(expected_mm, field="expected_mm")
    if expected <= 0:
        raise refusal("expected_mm", "must be more than nothing")
    off = abs(value - expected) / expected
    if off <= NEAR or value <= 0:
        return ()
    reach = FAR if off > FAR else off / BETTER
    answers = [
        other for other in _others(value, scale, unit, size) if abs(other.mm - expected) <= reach * expected
    ]
    return tuple(sorted(answers, key=lambda other: abs(other.mm - expected)))


def question_about(typed: str, expected_mm: Number, answers: tuple[OtherReading, ...]) -> str:
    """Return the question a page may put when `likely_other_unit` found something, or "" when it did not.

    >>> question_about("9", 4.76, likely_other_unit(9, 4.76, Scale(1, 48)))
    '9 is far from the planned 4.76 mm. Was 9 in at full size meant, which is 4.76 mm?'

    Raises PlankingError when the planned width is not finite.
    """
    if not answers:
        return ""
    planned = _two_places(exact_mm(expected_mm, field="expected_mm"))
    likeliest = answers[0]
    return (
        f"{typed} is far from the planned {planned} mm. "
        f"Was {likeliest.words} meant, which is {_two_places(likeliest.mm)} mm?"
    )


def _others(value: Fraction, scale: Scale | None, unit: Unit, size: Size) -> Iterator[OtherReading]:
    at_size = scale.to_full_size_mm(value) if size == "full" and scale else value
    figure = at_size / UNIT_MM[unit]
    for other_unit, other_size in _ways(scale):
        if (other_unit, other_size) != (unit, size):
            mistake: Mistake = "unit and size"
            if other_unit == unit or other_size == size:
                mistake = "size" if other_unit == unit else "unit"
            yield _reading(figure, mistake, other_unit, other_size, scale)
    for factor in (Fraction(1, 100), Fraction(1, 1000), Fraction(1, 10), Fraction(10)):
        yield _reading(figure * factor, "point", unit, size, scale)
    # A caliper set to inches shows three places, one set to mm two: 188 is 0.188 in, and 476 is 4.76 mm.
    if (unit, size) != ("in", "model"):
        yield _reading(figure / 1000, "unit and point", "in", "model", scale)
    if (unit, size) != ("mm", "model"):
        yield _reading(figure / 100, "unit and point", "mm", "model", scale)
    if figure.denominator == 1:
        words = f"{figure}/64 in on the model"
        yield OtherReading(figure / 64 * INCH_MM, "sixty-fourths", "in", "model", words)


def _ways(scale: Scale | None) -> Iterator[tuple[Unit, Size]]:
    units: tuple[Unit, ...] = ("mm", "in")
    for unit in units:
        yield unit, "model"
        if scale:
            yield unit, "full"


def _reading(figure: Fraction, mistake: Mistake, unit: Unit, size: Size, scale: Scale | None) -> OtherReading:
    at_size = figure * UNIT_MM[unit]
    on_model = scale.to_model_mm(at_size) if size == "full" and scale else at_size
    words = f"{_as_typed(figure)} {unit} {'at full size' if size == 'full' else 'on the model'}"
    return OtherReading(on_model, mistake, unit, size, words)


def _as_typed(figure: Fraction) -> str:
    """The figure as a person would write it: in decimals where few will do, else as whole and fraction."""
    shown = f"{float(figure):.6f}".rstrip("0").rstrip(".")
    if figure.denominator > 128 or Fraction(shown) == figure:
        return shown
    whole, top = divmod(figure.numerator, figure.denominator)
    return f"{f'{whole} ' if whole else ''}{top}/{figure.denominator}"


def _two_places(value: Fraction) -> str:
    whole, part = divmod(round(value * 100), 100)
    return f"{whole}.{part:02d}"
