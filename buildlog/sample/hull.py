"""The invented brig's plan, revision by revision, as exact lengths at full size."""

from dataclasses import dataclass
from fractions import Fraction

from buildlog.models import NM_PER_MM

SCALE = Fraction(1, 48)
MM_PER_INCH = Fraction(254, 10)
FRAME_SPACING_IN = 26

# Stations forward to aft with the frame each stands on, counted from dead flat, forward negative.
STATIONS = {
    "FH": -18, "Q": -16, "M": -12, "H": -8, "D": -4, "⊗": 0, "4": 4, "8": 8, "12": 12, "16": 16, "AH": 18,
}  # fmt: skip
READ_BY_DEFAULT = {"Q", "H", "⊗", "8", "16"}
GIRTH_IN = dict(zip(STATIONS, [78, 108, 138, 153, 160, 162, 160, 154, 146, 150, 168], strict=True))


def _widths(text: str) -> dict[str, Fraction]:
    figures = [sum(Fraction(part) for part in figure.split("+")) for figure in text.split()]
    return dict(zip(STATIONS, figures, strict=True))


DIMINISHING = _widths("5 6+1/2 7+7/8 8+5/8 8+7/8 9 8+7/8 8+5/8 8+1/4 8+1/8 8+1/4")
SIDE = _widths("4+3/4 6 7+3/4 8+1/2 8+7/8 9 8+7/8 8+5/8 8+1/4 8+1/4 8+1/2")
BILGE = _widths("4+3/4 5+3/4 7+1/4 8 8+3/8 8+1/2 8+3/8 8+1/8 7+3/4 8 9")
FLOOR = _widths("29/6 67/12 7+1/2 8+1/2 9 9 9 8+1/4 7+1/2 25/3 9")
GARBOARD = _widths("5+1/2 6+1/2 9 10+1/2 11+1/4 11+1/2 11+1/4 11 10+1/2 11+1/4 11+1/2")

THICKNESS_IN = {"18": "4", "17": "7/2", "16": "3", "15": "11/4"}
USUAL_THICKNESS_IN = "5/2"

BELTS = ["Floor", "Bilge", "Side", "Diminishing"]
CLOSING = "7"
FORE_END, AFTER_END = -18, 18

_BUTTS = {
    (18, 14, 10, 6, 2): (-12, 0, 12),
    (17, 13, 9, 5, 1): (-6, 6),
    (16, 12, 8, 4): (-9, 3),
    (15, 11, 7, 3): (-3, 9),
}


@dataclass(frozen=True)
class PlannedStrake:
    """One strake of the sample's plan: its widths in inches at full size at the stations that it reaches."""

    label: str
    belt: str
    run: str
    kind: str
    widths_in: dict[str, Fraction]
    spans: list
    butts: tuple[int, ...]

    def widths_nm(self) -> dict[str, int]:
        return {station: to_nm(inches) for station, inches in self.widths_in.items()}


def to_nm(inches_full_size: Fraction) -> int:
    """Return whole nanometres on the model for inches at full size, halves to even."""
    return round(inches_full_size * MM_PER_INCH * SCALE * NM_PER_MM)


def planned_strakes(number: int) -> list[PlannedStrake]:
    """Return the strakes of revision 1 (six in the bilge) or 2 (five), keel side first."""
    bilge = ["5", "5a", "6", "7", "8", "9"] if number == 1 else ["5", "6", "7", "8", "9"]
    labels = ["1", "2", "3", "3a", "4", *bilge, *(str(n) for n in range(10, 19))]
    return [_planned(label, len(bilge)) for label in labels]


def _planned(label: str, in_bilge: int) -> PlannedStrake:
    belt, widths = _belt(label, in_bilge)
    kind = {"12": "drop", "8": "drop", "3a": "stealer"}.get(label, "full")
    spans = {"drop": [[-17, AFTER_END]], "stealer": [[17, AFTER_END]]}.get(kind, [])
    reached = {
        "drop": [s for s in STATIONS if s != "FH"], "stealer": ["AH"], "full": list(STATIONS),
    }[kind]  # fmt: skip
    return PlannedStrake(
        label, belt, _run(label), kind, {s: widths[s] for s in reached}, spans, _butts(label)
    )


def _belt(label: str, in_bilge: int):
    number = int(label.rstrip("a"))
    if number == 1:
        return "Floor", GARBOARD
    if number <= 4:
        return "Floor", FLOOR
    if number >= 15:
        return "Diminishing", DIMINISHING
    if number >= 10:
        return "Side", SIDE
    return "Bilge", {station: _bilge_width(station, in_bilge) for station in STATIONS}


def _bilge_width(station: str, in_bilge: int) -> Fraction:
    """The bilge's room at a station shared by the strakes that reach it: one fewer at the fore hood end."""
    here = 4 if station == "FH" else 5
    room = BILGE[station] * here
    return room / (in_bilge - (station == "FH"))


def _run(label: str) -> str:
    number = int(label.rstrip("a"))
    if label == CLOSING:
        return "closing"
    return "keel" if number < int(CLOSING) else "wale"


def _butts(label: str) -> tuple[int, ...]:
    if label == "11":
        # One butt set wrong on purpose: on the timber of 13's and 9's, with one strake between.
        return (-6, 9)
    return next((butts for strakes, butts in _BUTTS.items() if label in map(str, strakes)), ())
