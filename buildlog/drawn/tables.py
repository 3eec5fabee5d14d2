"""The tables that stand under the pictures: the same figures for whoever wants figures."""

from dataclasses import dataclass
from fractions import Fraction

from buildlog.models import NM_PER_MM

from .plank_maps import deviations
from .strips import state_drawn

HUNDREDTH_NM = NM_PER_MM // 100


@dataclass(frozen=True)
class DeviationRow:
    label: str
    strake: object
    state: str
    closing: bool
    cells: list


@dataclass(frozen=True)
class DeviationTable:
    """Strakes from the wale side down to the keel side, stations aft to forward as in the picture."""

    stations: list
    rows: list


def deviation_table(hull, opening) -> DeviationTable:
    """Return how far each strake is off the width it was cut to, in nm; None where nothing was read."""
    off = deviations(hull.review(opening))
    strakes = hull.strakes[opening.pk]
    used = {pk for s in strakes for pk in s.widths}
    stations = [s for s in reversed(hull.stations) if not used or s.pk in used]
    rows = [
        DeviationRow(
            label=strake.label,
            strake=strake.plan.strake,
            state=state_drawn(hull, strake),
            closing=strake.plan.run == "closing",
            cells=[_cell(strake, station, off, state_drawn(hull, strake)) for station in stations],
        )
        for strake in reversed(strakes)
    ]
    return DeviationTable(stations, rows)


def _cell(strake, station, off, state):
    """One strake at one station: off by nought, hung and not read, or nothing of it there yet are three things."""
    value = off.get(strake.label, {}).get(station.name)
    off_nm = None if value is None else round(value * NM_PER_MM)
    return {
        "off_nm": off_nm, "is_nought": off_nm is not None and not round(Fraction(off_nm, HUNDREDTH_NM)),
        "is_unread": off_nm is None and state == "hung" and station.pk in strake.widths,
    }  # fmt: skip


@dataclass(frozen=True)
class DriftRow:
    """One strake of a run: how far it is off and the sum so far, hundredths of a mm that re-add as shown."""

    label: str
    off: str
    so_far: str
    read_here: bool


def drift_rows(run) -> list[DriftRow]:
    """Return a run's strakes in the order of hanging; each figure is the step between two rounded sums."""
    rows, before = [], 0
    for point in run:
        so_far = round(point.cumulative_mm * 100)
        rows.append(DriftRow(point.strake, _signed(so_far - before), _signed(so_far), point.read_here))
        before = so_far
    return rows


def _signed(hundredths: int) -> str:
    sign = "−" if hundredths < 0 else "+" if hundredths else ""
    return f"{sign}{abs(hundredths) / 100:.2f}"
