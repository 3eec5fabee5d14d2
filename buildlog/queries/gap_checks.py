"""The gap checks of an opening: the days on which its gap was read, each as it was known when its last was kept."""

import zoneinfo
from dataclasses import dataclass, field
from datetime import date, datetime

from buildlog.models import Reading

from .readings import all_gap_readings


@dataclass
class GapCheck:
    """One day of reading. ``as_of`` is the moment its last figure was known: what was changed after is not in it."""

    day: date
    as_of: datetime
    readings: list = field(default_factory=list)
    # A plank that hung then came off since: the check is of the past, and says nothing of the gap now.
    is_past: bool = True

    @property
    def methods(self) -> list[str]:
        return sorted({reading.get_method_display().lower() for reading in self.readings})

    @property
    def people(self) -> list[str]:
        return sorted({reading.person.display_name for reading in self.readings if reading.person})

    @property
    def stations(self) -> int:
        return len({reading.station_id for reading in self.readings})

    def takes_at(self, station_name: str) -> list[Reading]:
        return [reading for reading in self.readings if reading.station.name == station_name]


def gap_checks(opening) -> list[GapCheck]:
    """Return the days on which gaps were read, the newest first: those that still stand, and those of the past."""
    zone = zoneinfo.ZoneInfo(opening.build.time_zone)
    found: dict[date, GapCheck] = {}
    for shown in all_gap_readings(opening):
        if not shown.counts and not shown.is_out:
            continue
        reading = shown.reading
        day = reading.happened_at.astimezone(zone).date()
        check = found.setdefault(day, GapCheck(day, reading.known_at))
        check.readings.append(reading)
        check.is_past = check.is_past and shown.is_out
        check.as_of = max(check.as_of, reading.known_at)
    return [found[day] for day in sorted(found, reverse=True)]
