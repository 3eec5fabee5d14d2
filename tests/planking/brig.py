"""The invented brig on 14 February 2026 as an opening: port and starboard, after the gap check, before the
recut."""

import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

from planking.opening import Epoch, GapReading, GirthReading, Opening, Station, Strake, WidthReading

DATA = json.loads((Path(__file__).with_name("brig_february.json")).read_text(encoding="utf-8"))
ORDER = ["18", "17", "16", "15", "14", "13", "12", "11", "10", "1", "2", "3", "4", "3a"]
KEEL_TO_WALE = ["1", "2", "3", "3a", "4", *(str(number) for number in range(5, 19))]
BELTS_FROM_THE_WALE = {"Diminishing", "Side"}
A_STEM, A_KEEL, B = "A to June 2025", "A since June 2025", "B"


def full_size(text: str) -> float:
    """Model mm at 1:48 of a full-size width in inches; 1 in = 25.4 mm exactly (1959 agreement)."""
    return float(sum(Fraction(part) for part in text.split()) * Fraction(254, 10) / 48)


def brig(side: str, *, corrected: bool = True, gaps: bool = True, hung: int = 14) -> Opening:
    """The opening of one side with its first `hung` strakes on, as rows would give it."""
    found = DATA["sides"][side]
    labels = ORDER[:hung]
    check = found["check"]
    girths = {station: inches * 25.4 / 48 for station, inches in DATA["girth_planned_in"].items()}
    return Opening(
        side=side,
        stations=tuple(Station(name, x_mm) for name, x_mm in places()),
        strakes=tuple(strake(label, found["strakes"][label], labels) for label in KEEL_TO_WALE),
        girth_planned_mm=girths,
        seam_mm=0.014 if gaps else 0.03,
        u_seam_mm=0.003 if gaps else 0.03,
        widths=tuple(
            reading for label in labels for reading in readings(side, label, found["strakes"][label])
        ),
        gaps=tuple(
            GapReading(name, float(row["measured_gap"]), frozenset(labels), 0.05)
            for name, row in check.items()
        )
        if gaps
        else (),
        girths=tuple(
            GirthReading(name, girths[name] + float(row["girth_diff"]), 0.05) for name, row in check.items()
        ),
        epochs=epochs(corrected=corrected),
        dead_flat="DF",
    )


def places() -> list[tuple[str, float]]:
    """Stations every 8 ft 8 in, 55.03 mm on the model; the two ends two frames further."""
    names, step = DATA["stations"], 104 * 25.4 / 48
    inner = {name: index * step for index, name in enumerate(names[1:-1])}
    return [(names[0], -step / 2), *inner.items(), (names[-1], inner["16"] + step / 2)]


def strake(label: str, row: dict, hung: list[str]) -> Strake:
    run = "closing" if label == "7" else "keel" if int(label.rstrip("a")) < 7 else "wale"
    return Strake(
        label,
        run,
        {name: full_size(text) for name, text in row["planned_full_size_in"].items()},
        belt=row["belt"],
        state="hung" if label in hung else "open",
        hung_order=hung.index(label) + 1 if label in hung else None,
    )


def readings(side: str, label: str, row: dict) -> list[WidthReading]:
    epoch = B if side == "starboard" else A_KEEL if label in ("3", "4") else A_STEM
    return [WidthReading(label, name, float(text), epoch) for name, text in row["read_mm"].items() if text]


def epochs(*, corrected: bool) -> tuple[Epoch, ...]:
    knocked = Epoch(A_KEEL, "caliper A", 0.02, 0.05, in_doubt=True)
    if corrected:
        knocked = replace(knocked, u_zero_mm=0.01, zero_offset_mm=0.08, in_doubt=False)
    return (Epoch(A_STEM, "caliper A", 0.02, 0.02), knocked, Epoch(B, "caliper B", 0.02, 0.02))
