"""One strake at every station: planned, read, corrected, and how far off."""

from dataclasses import dataclass

from buildlog.models import NM_PER_MM
from buildlog.queries.readings import all_readings
from planking.errors import PlankingError

from .instruments import width_mm

# A hundredth is what is shown: less was taken off nothing.
SEEN_NM = 5_000


@dataclass(frozen=True)
class StrakeAtStation:
    """Lengths in nm on the model; ``off_nm`` is what was read, corrected, less the width it was cut to."""

    station: object
    planned_nm: int | None
    read_nm: int | None
    corrected_nm: int | None
    off_nm: int | None

    @property
    def is_corrected(self) -> bool:
        return self.read_nm is not None and abs(self.read_nm - self.corrected_nm) >= SEEN_NM

    @property
    def short_nm(self) -> int | None:
        """How much narrower than planned."""
        return None if self.off_nm is None else -self.off_nm


def strake_at_stations(hull, opening, label) -> list[StrakeAtStation]:
    """Return a strake's widths at the stations it reaches, aft to forward as the pictures lie."""
    try:
        facts = hull.facts(opening)
    except PlankingError:
        # The pages say what is wrong with the facts; what was read stands all the same.
        return _as_read(hull, opening, label)
    if facts is None or label not in facts.strake_by_label:
        return []
    strake = facts.strake_by_label[label]
    stations = {s.name: s for s in hull.stations}
    return [
        _at(facts, strake, stations[station.name])
        for station in reversed(facts.stations)
        if strake.judged_by_mm(station.name) is not None or (label, station.name) in facts.width_at
    ]


def _as_read(hull, opening, label) -> list[StrakeAtStation]:
    """Return what the plan says and what was read, without saying how far the one is off the other."""
    planned = next((one for one in hull.strakes.get(opening.pk, []) if one.label == label), None)
    if planned is None:
        return []
    shown = all_readings(planned.plan.strake, hull.as_of, hull.known)
    read = {one.reading.station_id: one.reading.value_nm for one in shown if one.counts and one.reading.kind == "width"}
    return [
        StrakeAtStation(station, width and width.width_nm, read.get(station.pk), read.get(station.pk), None)
        for station in reversed(hull.stations)
        if (width := planned.widths.get(station.pk)) or station.pk in read
    ]


def _at(facts, strake, station) -> StrakeAtStation:
    planned = _nm(strake.judged_by_mm(station.name))
    reading = facts.width_at.get((strake.label, station.name))
    if reading is None:
        return StrakeAtStation(station, planned, None, None, None)
    corrected = _nm(width_mm(facts, strake.label, station.name))
    off = None if planned is None else corrected - planned
    return StrakeAtStation(station, planned, _nm(reading.width_mm), corrected, off)


def _nm(mm) -> int | None:
    return None if mm is None else round(mm * NM_PER_MM)
