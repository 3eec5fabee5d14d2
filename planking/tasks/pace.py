"""Hours a strake so far and the strakes left -> the hours to finish, as an interval."""

from dataclasses import dataclass

from planking.pace import Pace, StrakeToCome, pace

ASKED_FOR = "hours to finish: 10 %, 50 % and 90 %"
EXAMPLE = {
    "hours": [6.5, 5.75, 5.25, 5.0],
    "left": [{"difficulty": 1.0, "done_share": 0.5}, {}, {}, {"difficulty": 1.4}],
}


@dataclass(frozen=True)
class Asked:
    """The hours each strake took, in order, its difficulty where not plain, and the strakes still to be
    hung."""

    hours: tuple[float, ...]
    left: tuple[StrakeToCome, ...]
    difficulties: tuple[float, ...] | None = None


Answered = Pace


def answer(asked: Asked) -> Pace:
    """Return the interval."""
    return pace(asked.hours, asked.left, difficulties=asked.difficulties)
