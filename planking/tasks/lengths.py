"""Texts as people type them -> exact lengths, shown back in both units with what the rounding leaves."""

from dataclasses import dataclass
from fractions import Fraction

from planking.lengths import (
    FULL_SIZE,
    Notation,
    Scale,
    Size,
    Unit,
    nm_remainder,
    read_length,
    show_full_size,
    show_mm,
)

ASKED_FOR = "texts read as lengths, shown back in mm and in inches"
EXAMPLE = {"texts": ["3 1/4 in", "9' 4 1/2\"", "82,5 mm"], "scale": "1:48", "size": "full", "step": "1/16"}


@dataclass(frozen=True)
class Asked:
    """Texts to read; `unit` is what a bare figure means, `size` whether they are the model's or the ship's.

    `step` is the part of an inch to which inches are shown: at full size with a scale, else on the model.
    """

    texts: tuple[str, ...]
    scale: Scale | None = None
    size: Size = "model"
    unit: Unit = "mm"
    notation: Notation = "plain"
    step: Fraction = Fraction(1, 16)


@dataclass(frozen=True)
class LengthTold:
    """One length: exact mm on the model as a fraction in text; shown in both units, with what that leaves."""

    typed: str
    unit: str
    unit_written: bool
    size: str
    exact_mm: str
    length_mm: Fraction
    length_nm: int
    nm_remainder_mm: str
    shown_mm: str
    shown_remainder_mm: str
    inches: str
    feet_and_inches: str
    spoken: str
    inches_are_exact: bool
    inches_remainder_mm: str


@dataclass(frozen=True)
class Answered:
    """The lengths in the order of the texts."""

    lengths: tuple[LengthTold, ...]


def answer(asked: Asked) -> Answered:
    """Return every text read, exactly; the first that cannot be read refuses the whole."""
    return Answered(tuple(_told(asked, number, text) for number, text in enumerate(asked.texts)))


def _told(asked: Asked, number: int, text: str) -> LengthTold:
    read = read_length(
        text,
        field=f"texts[{number}]",
        unit=asked.unit,
        size=asked.size,
        scale=asked.scale,
        notation=asked.notation,
        allow_negative=True,
    )
    scale = asked.scale or FULL_SIZE
    inches = show_full_size(read.mm, scale, asked.step)
    shown = show_mm(read.mm)
    return LengthTold(
        typed=text,
        unit=read.unit,
        unit_written=read.unit_written,
        size=read.size,
        exact_mm=str(read.mm),
        length_mm=read.mm,
        length_nm=read.nm,
        nm_remainder_mm=str(nm_remainder(read.mm)),
        shown_mm=shown,
        shown_remainder_mm=str(read.mm - Fraction(shown.replace("−", "-"))),
        inches=inches.marked,
        feet_and_inches=show_full_size(read.mm, scale, asked.step, feet=True).marked,
        spoken=inches.spoken,
        inches_are_exact=inches.is_exact,
        inches_remainder_mm=str(inches.remainder_mm),
    )
