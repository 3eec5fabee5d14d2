"""The tables that stand under the pictures: the same figures for whoever wants figures."""

from dataclasses import dataclass

from .plank_maps import deviations
from .strips import state_drawn


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
            cells=[_cell(strake, station, off) for station in stations],
        )
        for strake in reversed(strakes)
    ]
    return DeviationTable(stations, rows)


def _cell(strake, station, off):
    value = off.get(strake.label, {}).get(station.name)
    return {"off_nm": None if value is None else round(value * 1_000_000), "here": station.pk in strake.widths}
