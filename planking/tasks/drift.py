"""An opening with its readings -> what to do at every station and for the whole, with the sums behind it."""

from dataclasses import dataclass

from planking.drift import review
from planking.opening_asked import EXAMPLE as OPENING
from planking.opening_asked import OpeningAsked, opening_of
from planking.reviewed import OpeningReview

ASKED_FOR = "where the planks lie against the plan, and what to do: carry on, spread it, change it, measure"
EXAMPLE = OPENING


@dataclass(frozen=True)
class Asked(OpeningAsked):
    """One opening with its plan and its readings."""


Answered = OpeningReview


def answer(asked: Asked) -> OpeningReview:
    """Return the review of the opening."""
    return review(opening_of(asked))
