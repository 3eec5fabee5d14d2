"""What is left at a station of a draft, divided over the strakes that may take it, with nothing over."""

from dataclasses import dataclass

from buildlog.queries.plan_widths import DraftOpening, locked_because, reaches
from planking.errors import PlankingError, refusal
from planking.lining import LinedStation, divide_opening, sum_at_full_size
from planking.rounding import from_nm, split_nm
from planking.scales import Scale
from planking.shown_lengths import show_mm

__all__ = ["Division", "PlankingError", "divide"]


@dataclass(frozen=True)
class Division:
    """One station divided: the width of each strake that took a part, and the sum in words."""

    station: object
    widths_nm: dict
    words: str


def divide(draft: DraftOpening, station, chosen, *, equal: bool, scale: Scale | None = None) -> Division:
    """Return the widths of the chosen strakes (by uuid) that let a station close to zero.

    ``equal``: all chosen strakes come out equal, the others standing as given, the garboard for instance.
    Else each keeps what it has and takes an equal part of what is left, or gives of it where it is short.
    Raises PlankingError in a sentence where that cannot be.
    """
    at = f"at {station.name}"
    total = draft.sum_at(station)
    here = [s for s in draft.strakes if s.plan.strake.uuid in chosen and reaches(s.plan, station)]
    here = [s for s in here if not locked_because(s)]
    if total.girth_nm is None:
        raise refusal(f"girth {at}", "is not known, so there is nothing to divide")
    if not here:
        raise refusal(f"strakes {at}", "none of those chosen reaches there and is open")
    return _equal(draft, total, here, scale) if equal else _added(total, here)


def _equal(draft, total, here, scale) -> Division:
    """Divide by lining off: the girth less its seams, less the widths that stay, in equal parts."""
    station = total.station
    parted = {s.plan.strake_id for s in here}
    given = {
        s.label: from_nm(s.widths[station.pk].width_nm)
        for s in draft.strakes
        if station.pk in s.widths and s.plan.strake_id not in parted
    }
    # A strake that gets its first width here brings a seam with it.
    seams_nm = draft.seams_of(len(given) + len(here)) * draft.plan.planned_seam_nm
    order = [s.label for s in draft.strakes if s.label in given or s.plan.strake_id in parted]
    lined = LinedStation(station.name, from_nm(total.girth_nm - seams_nm), tuple(order), given)
    divided = divide_opening([lined])[0]
    words = sum_at_full_size(divided, scale) + " in" if scale else divided.sum
    return Division(station, {s.plan.strake.uuid: divided.widths_nm[s.label] for s in here}, words)


def _added(total, here) -> Division:
    """Give each an equal part of what is left; those without a width yet have none to add to."""
    station = total.station
    here = [s for s in here if station.pk in s.widths]
    if not here:
        raise refusal(f"strakes at {station.name}", "none of those chosen has a width there yet")
    sign = -1 if total.left_nm < 0 else 1
    parts = split_nm(from_nm(abs(total.left_nm)), len(here))
    widths = {
        s.plan.strake.uuid: s.widths[station.pk].width_nm + sign * part
        for s, part in zip(here, parts, strict=True)
    }
    for one in here:
        if widths[one.plan.strake.uuid] <= 0:
            raise refusal(f"strake {one.label} at {station.name}", "would have no width left")
    left = show_mm(from_nm(abs(total.left_nm)))
    words = f"{left} / {len(here)} = {show_mm(from_nm(parts[0]))} {'less' if sign < 0 else 'more'} each"
    return Division(station, widths, words)
