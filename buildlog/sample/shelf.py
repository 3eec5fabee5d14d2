"""The sample's readings and sessions, as they lie in the data folder."""

import csv
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path

from buildlog.models import NM_PER_MM

DATA = Path(__file__).parent / "data"


@dataclass(frozen=True)
class SampleSession:
    number: int
    date: date
    side: str
    minutes: int
    humidity_percent: int
    note: str


def _rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def nm_of(text: str) -> int:
    return int(Decimal(text) * NM_PER_MM)


def sessions() -> list[SampleSession]:
    return [
        SampleSession(
            int(row["number"]), date.fromisoformat(row["date"]), row["side"], int(row["minutes"]),
            int(row["humidity_percent"]), row["note"],
        )
        for row in _rows("sessions.csv")
    ]  # fmt: skip


def widths() -> dict[tuple[str, str], dict[str, str]]:
    """Return the width read at each station, as typed, by ``(side, strake)``."""
    found: dict[tuple[str, str], dict[str, str]] = {}
    for row in _rows("widths.csv"):
        found.setdefault((row["side"], row["strake"]), {})[row["station"]] = row["read_mm"]
    return found


def gaps() -> dict[str, dict[str, str]]:
    """Return the gap of 14 February 2026 at each station, by side."""
    found: dict[str, dict[str, str]] = {}
    for row in _rows("gaps.csv"):
        found.setdefault(row["side"], {})[row["station"]] = row["gap_mm"]
    return found


def girth_differences() -> dict[str, dict[str, str]]:
    """Return the girth as built less the drawing's at each station, by side."""
    found: dict[str, dict[str, str]] = {}
    for row in _rows("gaps.csv"):
        found.setdefault(row["side"], {})[row["station"]] = row["girth_less_drawing_mm"]
    return found
