"""What is believed of the strakes that hang: read here, carried along the hull from where they were, or as planned."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from planking.between import bridge_roughness, on_the_line
from planking.opening import Opening, Strake

U_MIN_MM = 1e-6


@dataclass(frozen=True)
class HungWidth:
    """What is believed of one hung strake at a station: how far off what it was cut to, and how sure."""

    strake: str
    judged_by_mm: float
    deviation_mm: float
    u_mm: float
    epoch: str | None
    read_here: bool


def hung_widths(opening: Opening, station: str) -> tuple[tuple[HungWidth, ...], tuple[str, ...]]:
    """Return what is believed of each hung strake at a station, and the labels of which nothing can be said.

    A strake read elsewhere but not here is believed off its plan by what its neighbours along the hull say;
    one read nowhere is believed as planned, give or take the cutting scatter.
    """
    known: list[HungWidth] = []
    unknown: list[str] = []
    for strake in opening.strakes_at(station):
        if not strake.is_hung:
            continue
        judged = strake.judged_by_mm(station)
        reading = opening.width_at.get((strake.label, station))
        if reading is not None:
            epoch = opening.epoch_by_name[reading.epoch]
            true = reading.width_mm - zero_of(opening, reading.epoch)[0]
            judged = true if judged is None else judged
            u = epoch.u_reading_mm if reading.u_mm is None else reading.u_mm
            known.append(HungWidth(strake.label, judged, true - judged, u, reading.epoch, True))
        elif judged is None:
            unknown.append(strake.label)
        else:
            known.append(deviation_between(opening, strake, station, judged))
    return tuple(known), tuple(unknown)


def deviation_between(opening: Opening, strake: Strake, station: str, judged_by_mm: float) -> HungWidth:
    """Return what is believed of a hung strake at a station where it was not read.

    Read elsewhere: its deviation there, carried along the hull, still under that instrument's zero. Read
    nowhere: as planned, give or take the cutting scatter.
    """
    places, values, doubts, epochs = [], [], [], []
    for one, place in zip(opening.stations, opening.places_mm, strict=True):
        reading = opening.width_at.get((strake.label, one.name))
        judged = strake.judged_by_mm(one.name)
        if reading is None or judged is None:
            continue
        epoch = opening.epoch_by_name[reading.epoch]
        places.append(place)
        values.append(reading.width_mm - zero_of(opening, reading.epoch)[0] - judged)
        doubts.append(epoch.u_reading_mm if reading.u_mm is None else reading.u_mm)
        epochs.append(reading.epoch)
    if not places:
        return HungWidth(strake.label, judged_by_mm, 0.0, opening.cutting_scatter_mm, None, False)
    at = next(p for one, p in zip(opening.stations, opening.places_mm, strict=True) if one.name == station)
    # One strake wanders less than a run: at the middle of a quarter of the hull this is half the cutting
    # scatter.
    prior = 4 * opening.cutting_scatter_mm**2
    roughness = (
        bridge_roughness(places, values, doubts, prior) if len(places) > 1 else prior / _length(opening)
    )
    value, u = on_the_line(places, values, doubts, at, roughness)
    nearest = min(range(len(places)), key=lambda index: abs(places[index] - at))
    return HungWidth(strake.label, judged_by_mm, value, u, epochs[nearest], False)


def zero_of(opening: Opening, epoch_name: str) -> tuple[float, float]:
    """Return the zero of an epoch and its doubt, zero checks weighed in by their inverse squares.

    >>> from planking.opening import Epoch, Opening, Station, ZeroCheck
    >>> one = Opening("port", (Station("D"),), (), epochs=(Epoch("A", "caliper", 0.02, 0.05),),
    ...               zero_checks=(ZeroCheck("A", 0.08, 0.0),))
    >>> zero_of(one, "A")
    (0.08, 0.0)
    """
    epoch = opening.epoch_by_name[epoch_name]
    values = [(epoch.zero_offset_mm, epoch.u_zero_mm)]
    values += [(check.offset_mm, check.u_mm) for check in opening.zero_checks if check.epoch == epoch_name]
    sharpest = min(u for _, u in values)
    if sharpest <= U_MIN_MM:
        exact = [value for value, u in values if u <= U_MIN_MM]
        return exact[-1], 0.0
    weights = [1 / u**2 for _, u in values]
    mean = sum(w * value for w, (value, _) in zip(weights, values, strict=True)) / sum(weights)
    return mean, 1 / math.sqrt(sum(weights))


def zero_counts(hung: Iterable[HungWidth]) -> Mapping[str, int]:
    """Return how many of the widths share each instrument epoch's zero."""
    counts: dict[str, int] = {}
    for one in hung:
        if one.epoch is not None:
            counts[one.epoch] = counts.get(one.epoch, 0) + 1
    return counts


def _length(opening: Opening) -> float:
    return max(opening.places_mm[-1] - opening.places_mm[0], 1.0)
