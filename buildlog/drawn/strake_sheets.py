"""One plank straightened on its own middle line, as the strake sheet is told it."""

from dataclasses import replace

from django.utils.translation import gettext as _

from buildlog.pictures.drawing import three_cuts
from buildlog.pictures.strake_sheet import StrakeSheet, strake_sheet

from .plank_maps import hull_drawn

CUTS = (328, 720, 1178)


def strake_sheet_of(hull, opening, strake, stations):
    """Return the strake's sheet in three cuts, or None where no width of it is known."""
    drawn = hull_drawn(hull, sides=[opening.side])
    if drawn is None:
        return None
    mine = next((s for s in drawn.strakes() if s.label == strake.label), None)
    if mine is None or not any(mine.widths_mm):
        return None
    off = {s.station.name: s.off_nm / 1e6 for s in stations if s.off_nm is not None}
    mine = replace(mine, deviations_mm=tuple(off.get(s.name) for s in drawn.stations))
    planks = tuple(f"{strake.label}-{p.order}" for p in reversed(strake.plan.planks.all()))
    sheet = StrakeSheet(opening.side, drawn.stations, mine, planks=planks, steps_mm=drawn.steps_mm)
    summary = _("Strake %(label)s straightened, with how far it is off plan at each station.") % {"label": strake.label}
    return three_cuts([strake_sheet(sheet, width, summary=summary) for width in CUTS])
