"""Deviations a strake, in the order of cutting -> is the hand biased, since when, and by how much."""

from dataclasses import dataclass

from planking.habit import Habit, habit

ASKED_FOR = "is the cutting biased: the chart, the alarms, bias and scatter with their intervals"
EXAMPLE = {"deviations_mm": [0.0, 0.01, -0.01, 0.05, 0.06, 0.07, 0.05, 0.06, 0.05, 0.07, 0.06, 0.05, 0.06]}


@dataclass(frozen=True)
class Asked:
    """One deviation a strake, the mean over its stations of read less planned; the scatter expected of a
    hand."""

    deviations_mm: tuple[float, ...]
    scatter_mm: float = 0.06


Answered = Habit


def answer(asked: Asked) -> Habit:
    """Return what the series says."""
    return habit(asked.deviations_mm, scatter_mm=asked.scatter_mm)
