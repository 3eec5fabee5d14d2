"""Port and starboard -> what differs between them that the eye would see."""

from dataclasses import dataclass

from planking.opening_asked import EXAMPLE as OPENING
from planking.opening_asked import OpeningAsked, opening_of
from planking.port_starboard import Sides, sides
from planking.scales import Scale

ASKED_FOR = "port against starboard: seams, counts, closing strakes and hands that differ"
EXAMPLE = {"port": OPENING, "starboard": {**OPENING, "side": "starboard"}}


@dataclass(frozen=True)
class Asked:
    """The same opening on both sides."""

    port: OpeningAsked
    starboard: OpeningAsked
    scale: Scale | None = None


Answered = Sides


def answer(asked: Asked) -> Sides:
    """Return what differs."""
    return sides(opening_of(asked.port), opening_of(asked.starboard))
