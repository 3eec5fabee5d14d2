"""Widths -> whole steps a strake, the marks to strike, and the largest error of a seam."""

from dataclasses import dataclass
from fractions import Fraction

from planking.lengths import Scale, round_run

ASKED_FOR = "widths in whole steps, by running remainder"
EXAMPLE = {"widths_in": ["4 5/6", "4 5/6", "4 5/6", "4 5/6"], "step_in": "1/16", "scale": "1:48"}


@dataclass(frozen=True)
class Asked:
    """Widths in order from one edge, and the step to round to."""

    widths_mm: tuple[Fraction, ...]
    step_mm: Fraction
    scale: Scale | None = None


@dataclass(frozen=True)
class Answered:
    """Whole steps a strake, and the marks counted and measured from the first edge.

    No mark is more than half a step from its exact place.
    """

    steps: tuple[int, ...]
    marks: tuple[int, ...]
    widths_mm: tuple[Fraction, ...]
    marks_mm: tuple[Fraction, ...]
    errors_mm: tuple[Fraction, ...]
    largest_seam_error_mm: Fraction
    step_mm: Fraction


def answer(asked: Asked) -> Answered:
    """Return the widths rounded by running remainder."""
    run = round_run(asked.widths_mm, asked.step_mm)
    return Answered(
        steps=run.steps,
        marks=run.marks,
        widths_mm=run.widths_mm,
        marks_mm=run.marks_mm,
        errors_mm=run.errors_mm,
        largest_seam_error_mm=run.largest_error_mm,
        step_mm=run.step_mm,
    )
