"""An opening with its readings -> the closing strake foretold, with the rest cut to plan and with a recut."""

from dataclasses import dataclass

from planking import estimate
from planking.closing_strake import ClosingStrake, closing_strake
from planking.opening_asked import EXAMPLE as OPENING
from planking.opening_asked import OpeningAsked, opening_of

ASKED_FOR = "the closing strake foretold at every station, with its interval and chances"
EXAMPLE = OPENING


@dataclass(frozen=True)
class Asked(OpeningAsked):
    """One opening with its plan and its readings."""


@dataclass(frozen=True)
class Answered:
    """The closing strake if the rest is cut to the plan, and if it is recut with the habit taken off."""

    left_alone: ClosingStrake
    recut: ClosingStrake


def answer(asked: Asked) -> Answered:
    """Return both forecasts."""
    opening = opening_of(asked)
    solved = estimate.ledger(opening)
    return Answered(
        closing_strake(opening, "left_alone", solved=solved), closing_strake(opening, "recut", solved=solved)
    )
