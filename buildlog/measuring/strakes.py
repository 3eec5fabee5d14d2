"""One strake at every station: planned, read, corrected, and how far off."""

from dataclasses import dataclass

from buildlog.models import NM_PER_MM
from planking.errors import PlankingError


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
        return self.read_nm is not None and self.read_nm != self.corrected_nm

    @property
    def short_nm(self) -> int | None:
        """How much narrower than planned."""
        return None if self.off_nm is None else -self.off_nm


def strake_at_stations(hull, opening, label) -> list[StrakeAtStation]:
    """Return a strake's widths at the stations it reaches, aft to forward as the pictures lie."""
    try:
        facts = hull.facts(opening)
    except PlankingError:
        # What is wrong with the facts is said on the Hull page; here it leaves the table out.
        return []
    if facts is None or label not in facts.strake_by_label:
        return []
    strake = facts.strake_by_label[label]
    stations = {s.name: s for s in hull.stations}
    return [
        _at(facts, strake, stations[station.name])
        for station in reversed(facts.stations)
        if strake.judged_by_mm(station.name) is not None or (label, station.name) in facts.width_at
    ]


def _at(facts, strake, station) -> StrakeAtStation:
    planned = _nm(strake.judged_by_mm(station.name))
    reading = facts.width_at.get((strake.label, station.name))
    if reading is None:
        return StrakeAtStation(station, planned, None, None, None)
    corrected = _nm(reading.width_mm - facts.epoch_by_name[reading.epoch].zero_offset_mm)
    off = None if planned is None else corrected - planned
    return StrakeAtStation(station, planned, _nm(reading.width_mm), corrected, off)


def _nm(mm) -> int | None:
    return None if mm is None else round(mm * NM_PER_MM)
