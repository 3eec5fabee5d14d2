"""Girths as they were read: takes, their middle and spread, beside the drawing's and the other side's.

The middle is the one the ledger reckons with: the mean of the latest takes that agree. A girth is told where it
is off by more than twice the doubt of what is compared, and never under 0.10 mm, which no eye sees in a frame
(common practice, no source). On one paper strip 0.20 mm is noise: it is asked for again, and no more is said.
"""

from dataclasses import dataclass
from fractions import Fraction
from statistics import fmean

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from buildlog.models import NM_PER_MM
from buildlog.queries.girths import drawing_girths
from buildlog.queries.plans import revision_in_force
from buildlog.queries.readings import counting_girths

from .openings import agreeing_takes, u_mm_of

LEAST_TOLD_NM = 100_000
# Two strips laid at one place differ by this much only when one was laid badly.
TAKES_APART_NM = 200_000


@dataclass(frozen=True)
class Girth:
    """One girth of one opening: every standing take, latest first, and those that count."""

    takes: tuple
    counted: tuple
    drawing_nm: int | None

    @property
    def middle_nm(self) -> int:
        return round(fmean(take.value_nm for take in self.counted))

    @property
    def spread_nm(self) -> int:
        read = [take.value_nm for take in self.counted]
        return max(read) - min(read)

    @property
    def doubt_nm(self) -> float:
        return u_mm_of(self.counted) * NM_PER_MM

    @property
    def off_nm(self) -> int | None:
        """As built less the drawing: below nought where the frames stand short of it."""
        return None if self.drawing_nm is None else self.middle_nm - self.drawing_nm

    @property
    def is_off(self) -> bool:
        """Whether it is off the drawing by more than its takes can be wrong, and by enough to matter."""
        return self.off_nm is not None and abs(self.off_nm) > max(LEAST_TOLD_NM, 2 * self.doubt_nm)

    @property
    def off_words(self) -> str:
        off_nm = None if self.drawing_nm is None else less_as_shown(self.middle_nm, self.drawing_nm)
        return _apart(off_nm, _("short %(mm)s"), _("long %(mm)s"), _("as drawn"))

    @property
    def apart_nm(self) -> int:
        """How far the last two takes of one sitting are apart; 0 where they were not of one sitting."""
        if len(self.takes) < 2:
            return 0
        last, before = self.takes[0].reading, self.takes[1].reading
        same = last.session_id is not None and last.session_id == before.session_id
        return abs(self.takes[0].value_nm - self.takes[1].value_nm) if same else 0


@dataclass(frozen=True)
class StationGirths:
    """One station across the sides; ``girths`` maps the side to what was read there."""

    station: object
    girths: dict
    drawing_nm: int | None
    order: tuple = ()

    @property
    def sides(self) -> list[Girth | None]:
        """What was read on each side, in the order of the table; None where nothing was."""
        return [self.girths.get(side) for side in self.order]

    @property
    def apart_words(self) -> str:
        apart_nm = None
        if self.sides_apart_nm is not None:
            apart_nm = less_as_shown(self.girths["port"].middle_nm, self.girths["starboard"].middle_nm)
        return _apart(apart_nm, _("short %(mm)s"), _("long %(mm)s"), _("alike"))

    @property
    def sides_apart_nm(self) -> int | None:
        """Port less starboard."""
        if {"port", "starboard"} - self.girths.keys():
            return None
        return self.girths["port"].middle_nm - self.girths["starboard"].middle_nm


@dataclass(frozen=True)
class GirthTable:
    """The girths of the openings that lie opposite each other, station by station."""

    openings: tuple
    rows: tuple
    told: tuple

    @property
    def is_read(self) -> bool:
        return any(row.girths for row in self.rows)

    @property
    def next(self):
        """The side with fewer stations read: the one to go on with."""
        return min(self.openings, key=lambda opening: sum(opening.side in row.girths for row in self.rows))

    @property
    def takes(self) -> list[tuple[str, object]]:
        """Every standing take with its side, station by station, the first take first."""
        return [
            (side, take)
            for row in self.rows
            for side, girth in row.girths.items()
            for take in reversed(girth.takes)
        ]


def girth_tables(hull) -> list[GirthTable]:
    """Return a table for each pair of openings of the layer being planked; ``hull.as_of`` as it was known."""
    pairs: dict[int, list] = {}
    for opening in hull.openings:
        if opening.layer == hull.layer:
            pairs.setdefault(opening.position, []).append(opening)
    # What the drawing says is older than the log, so it is read from the plan as it stands now.
    drawn = drawing_girths(revision_in_force(hull.build))
    return [_table(openings, hull, drawn) for _position, openings in sorted(pairs.items())]


def _table(openings, hull, drawn) -> GirthTable:
    read = {opening.side: counting_girths(opening, hull.as_of) for opening in openings}
    pks = {opening.side: opening.pk for opening in openings}
    rows = []
    for station in hull.stations:
        girths = {
            side: Girth(tuple(found[station.pk]), tuple(agreeing_takes(found[station.pk])[-1]),
                        drawn.get((pks[side], station.pk)))
            for side, found in read.items()
            if station.pk in found
        }  # fmt: skip
        drawing = next((drawn[pk, station.pk] for pk in pks.values() if (pk, station.pk) in drawn), None)
        rows.append(StationGirths(station, girths, drawing, tuple(pks)))
    return GirthTable(tuple(openings), tuple(rows), tuple(_told(rows)))


def _told(rows):
    for row in rows:
        for side, girth in row.girths.items():
            sentence = _apart_words(row, side, girth) or _off_words(row, side, girth)
            if sentence:
                yield sentence
        if row.sides_apart_nm is not None and not any(girth.is_off for girth in row.girths.values()):
            yield from _sides_words(row)


def _apart_words(row, side, girth) -> str:
    if girth.apart_nm <= TAKES_APART_NM:
        return ""
    return _("%(place)s: two takes, %(one)s and %(other)s, are over 0.20 apart. Take both again.") % {
        "place": _place(row, side), "one": _mm(girth.takes[1].value_nm), "other": _mm(girth.takes[0].value_nm),
    }  # fmt: skip


def _off_words(row, side, girth) -> str:
    if girth.off_nm is None or abs(girth.off_nm) <= LEAST_TOLD_NM:
        return ""
    told = {
        "place": _place(row, side), "off": _mm(abs(less_as_shown(girth.middle_nm, girth.drawing_nm))),
        "word": _("shorter than the drawing") if girth.off_nm < 0 else _("longer than the drawing"),
        "other": _other_words(row, side, girth),
    }  # fmt: skip
    if not girth.is_off:
        if len(girth.counted) > 1:
            return ""
        return _("%(place)s reads %(off)s mm %(word)s by one strip, which is noise. Take it again.") % told
    told["takes"] = _takes_words(len(girth.counted))
    return _("%(place)s is %(off)s mm %(word)s%(other)s; %(takes)s. Look at the frame before you plank there.") % told


def _takes_words(count) -> str:
    if count == 1:
        return _("one take")
    return ngettext("%(count)s take agrees", "%(count)s takes agree", count) % {"count": count}


def _other_words(row, side, girth) -> str:
    """How far it is off the other side too, where that differs by enough to tell."""
    other = row.girths.get("starboard" if side == "port" else "port")
    if other is None or abs(girth.middle_nm - other.middle_nm) <= _limit_nm(girth, other):
        return ""
    apart = girth.middle_nm - other.middle_nm
    words = _(" and %(apart)s shorter than %(side)s") if apart < 0 else _(" and %(apart)s longer than %(side)s")
    shown = less_as_shown(girth.middle_nm, other.middle_nm)
    return words % {"apart": _mm(abs(shown)), "side": _("starboard") if side == "port" else _("port")}


def _limit_nm(one, other) -> float:
    return max(LEAST_TOLD_NM, 2 * (one.doubt_nm**2 + other.doubt_nm**2) ** 0.5)


def _sides_words(row):
    """Tell two sides that differ where neither is off the drawing by itself, or no drawing is known."""
    port, starboard = row.girths["port"], row.girths["starboard"]
    apart = row.sides_apart_nm
    if abs(apart) <= _limit_nm(port, starboard):
        return
    side = _("Port") if apart > 0 else _("Starboard")
    yield _("At %(station)s the sides differ by %(apart)s mm: %(side)s is the longer.") % {
        "station": row.station.name, "apart": _mm(abs(apart)), "side": side,
    }  # fmt: skip


def less_as_shown(nm, other_nm) -> int:
    """Return one length less another as both are shown, to the hundredth: a reader subtracts what stands there."""
    hundredth_nm = NM_PER_MM // 100
    return (round(Fraction(nm, hundredth_nm)) - round(Fraction(other_nm, hundredth_nm))) * hundredth_nm


def _apart(nm, short, long, alike) -> str:
    """A difference in words, by the hundredth that is shown; nothing where there is none to tell."""
    if nm is None:
        return ""
    figure = _mm(abs(nm))
    words = alike if figure == "0.00" else (short if nm < 0 else long) % {"mm": figure}
    return words.replace(" ", "\N{NO-BREAK SPACE}")


def _place(row, side) -> str:
    return f"{_('Port') if side == 'port' else _('Starboard')} {row.station.name}"


def _mm(nm) -> str:
    return f"{nm / NM_PER_MM:.2f}"
