"""The readings of an opening as rows of numbers: station by station, one column a strake, a gap check, an
edge.

The ledger (estimate.py) says what they mean together. Nothing is judged here; what was not read has no
weight.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from planking.opening import EdgeReading, GapReading, Opening, Strake
from planking.plain_sum import U_GIRTH_PLANNED_MM

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Whole = NDArray[np.int64]

U_UNKNOWN_MM = 1e4
"""The doubt that stands for *not read*: so wide that the row weighs nothing (below 1e-8 of any reading)."""

U_FLOOR_MM = 1e-4
"""No reading is surer than a ten-thousandth of a millimetre; it keeps readings without doubt from
clashing."""

U_FREE_WIDTH_MM = 5.0
"""The scatter of a strake that was made to no plan: the closing one, or one hung before this log."""


@dataclass(frozen=True)
class Taken:
    """Readings of one kind over the same strakes: a gap check, or an edge. One value and one doubt a
    station."""

    sign: float
    strakes: "Array"
    seams: "Array"
    value: "Array"
    u: "Array"
    epoch: "Whole"


@dataclass(frozen=True)
class Rows:
    """All rows of an opening. S stations, K strakes cut or hung in the order of cutting, E epochs."""

    strakes: tuple[Strake, ...]
    aim: "Array"
    present: "Array"
    free: "Array"
    width: "Array"
    u_width: "Array"
    epoch: "Whole"
    girth: "Array"
    u_girth: "Array"
    taken: tuple[Taken, ...]
    hung: "Array"
    seams_hung: "Array"
    seams_in_all: "Array"


def rows_of(opening: Opening) -> Rows:
    """Return the rows of an opening for its ledger.

    `aim` is what each strake was cut to (the habit already taken off), 0 where it does not reach; `free`
    marks strakes made to no plan; what was not read carries the doubt of 1e4 mm. Lengths in mm.

    >>> from planking.opening import Station
    >>> strakes = (Strake("1", "wale", {"D": 5.0}, state="hung"),)
    >>> rows_of(Opening("port", (Station("D"),), strakes)).aim.tolist()
    [[5.0]]
    """
    import numpy as np

    strakes = _in_order_of_cutting(opening)
    stations = {one.name: index for index, one in enumerate(opening.stations)}
    columns = {one.label: index for index, one in enumerate(strakes)}
    shape = (len(stations), len(strakes))
    aim, present, free = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    width, u_width = np.zeros(shape), np.full(shape, U_UNKNOWN_MM)
    epoch = np.full(shape, -1, dtype=np.int64)
    for column, strake in enumerate(strakes):
        _fill_aim(strake, stations, aim[:, column], present[:, column], free[:, column])
    numbers = {one.name: index for index, one in enumerate(opening.epochs)}
    u_epoch = [one.u_reading_mm for one in opening.epochs]
    for reading in opening.widths:
        where = columns.get(reading.strake)
        if where is None:
            continue
        at = (stations[reading.station], where)
        number = numbers[reading.epoch]
        width[at], epoch[at] = reading.width_mm, number
        u_width[at] = max(U_FLOOR_MM, u_epoch[number] if reading.u_mm is None else reading.u_mm)
        if not present[at]:
            present[at], free[at], aim[at] = 1.0, 1.0, reading.width_mm
    girth, u_girth = _girths(opening, stations)
    hung = np.array([one.is_hung for one in strakes], dtype=float)
    return Rows(
        strakes=strakes,
        aim=aim,
        present=present,
        free=free,
        width=width,
        u_width=u_width,
        epoch=epoch,
        girth=girth,
        u_girth=u_girth,
        taken=_taken(opening, stations, columns, numbers, present),
        hung=hung,
        seams_hung=np.array([opening.seams_hung(name) for name in stations], dtype=float),
        seams_in_all=np.array([opening.seams_in_all(name) for name in stations], dtype=float),
    )


def _in_order_of_cutting(opening: Opening) -> tuple[Strake, ...]:
    return (*opening.hung_in_order, *(one for one in opening.strakes if one.state == "cut"))


def _fill_aim(
    strake: Strake, stations: dict[str, int], aim: "Array", present: "Array", free: "Array"
) -> None:
    unplanned = strake.run == "closing" or (strake.state == "before_log" and not strake.planned_mm)
    names = stations if unplanned and not strake.planned_mm else strake.planned_mm
    for name in names:
        at = stations[name]
        planned = strake.aimed_at_mm(name)
        present[at] = 1.0
        aim[at] = 0.0 if planned is None else planned
        free[at] = float(unplanned)


def _girths(opening: Opening, stations: dict[str, int]) -> "tuple[Array, Array]":
    import numpy as np

    girth, u = np.zeros(len(stations)), np.full(len(stations), U_UNKNOWN_MM / 100)
    for name, at in stations.items():
        planned = (opening.girth_planned_mm or {}).get(name)
        reading = opening.girth_at.get(name)
        if reading is not None:
            girth[at], u[at] = reading.girth_mm, max(U_FLOOR_MM, reading.u_mm)
        elif planned is not None:
            girth[at], u[at] = planned, U_GIRTH_PLANNED_MM
        else:
            girth[at] = sum(one.planned_mm.get(name, 0.0) for one in opening.strakes)
    return girth, u


def _taken(
    opening: Opening,
    stations: dict[str, int],
    columns: dict[str, int],
    epochs: dict[str, int],
    present: "Array",
) -> tuple[Taken, ...]:
    """Return gaps and edges, readings over the same strakes side by side; a repeat at a station is a row of
    its own."""
    rows: dict[Any, list[GapReading | EdgeReading]] = {}
    for name in stations:
        for gap in opening.gaps_at(name):
            _put(rows, (gap.hung,), gap)
    for edge in opening.edges:
        labels = _up_to(opening, edge)
        if labels is not None:
            _put(rows, (edge.from_line, labels), edge)
    return tuple(
        _one_taken(opening, key, found, stations, columns, epochs, present) for key, found in rows.items()
    )


def _put(
    rows: dict[Any, list[GapReading | EdgeReading]], key: tuple[Any, ...], one: GapReading | EdgeReading
) -> None:
    number = 0
    while any(other.station == one.station for other in rows.get((*key, number), ())):
        number += 1
    rows.setdefault((*key, number), []).append(one)


def _one_taken(
    opening: Opening,
    key: tuple[Any, ...],
    found: list[GapReading | EdgeReading],
    stations: dict[str, int],
    columns: dict[str, int],
    epochs: dict[str, int],
    present: "Array",
) -> Taken:
    import numpy as np

    labels = key[-2]
    value, u = np.zeros(len(stations)), np.full(len(stations), U_UNKNOWN_MM)
    epoch, seams = np.full(len(stations), -1, dtype=np.int64), np.zeros(len(stations))
    for one in found:
        at = stations[one.station]
        value[at] = one.gap_mm if isinstance(one, GapReading) else one.distance_mm
        u[at] = max(U_FLOOR_MM, one.u_mm)
        epoch[at] = epochs[one.epoch] if one.epoch is not None else -1
        seams[at] = opening.seams_hung(one.station, labels)
    over = np.zeros(len(columns))
    over[[columns[label] for label in labels]] = 1.0
    return Taken(-1.0 if len(key) == 2 else 1.0, over * present, seams, value, u, epoch)


def _up_to(opening: Opening, edge: EdgeReading) -> frozenset[str] | None:
    """Return the strakes between a line and a far edge, or nothing where one of them is not hung."""
    labels = [one.label for one in opening.strakes_at(edge.station)]
    if edge.strake not in labels:
        return None
    at = labels.index(edge.strake)
    between = labels[: at + 1] if edge.from_line == "keel" else labels[at:]
    hung = all(opening.strake_by_label[label].is_hung for label in between)
    return frozenset(between) if hung else None
