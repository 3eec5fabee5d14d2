"""The girth strip of a build: its own girth at the widest station, laid flat."""

from django.utils.translation import gettext as _

from buildlog.models import NM_PER_MM
from buildlog.pictures.strip import Plank, Side, strip

from .first_strips import first_sides
from .progress import strakes_counted

DESK, PHONE = 1216, 360


def strip_of(hull, width=DESK, key="strip"):
    """Return the strip's picture, or None before there is a plan to draw."""
    sides = strip_sides(hull) or first_sides(hull.build)
    return strip(sides, width, summary=summary_of(hull), key=key) if sides else None


def strip_sides(hull) -> list[Side]:
    station = hull.widest_station()
    rows: dict[str, list] = {}
    for opening in sorted(hull.openings_here(), key=lambda o: o.position):
        planks = tuple(_plank(hull, s, station) for s in hull.strakes[opening.pk] if _is_here(s, station))
        if planks:
            rows.setdefault(opening.side, []).append(planks)
    return [Side(side, tuple(openings)) for side, openings in rows.items()]


def _is_here(strake, station) -> bool:
    """A strake of whose widths nothing is known runs from end to end as far as anybody knows."""
    return not strake.widths or station.pk in strake.widths


def _plank(hull, strake, station) -> Plank:
    width = strake.widths.get(station.pk)
    return Plank(
        width_mm=width.width_nm / NM_PER_MM if width else None,
        state=state_drawn(hull, strake),
        closing=strake.plan.run == "closing",
    )


def state_drawn(hull, strake) -> str:
    """Return hung, before_log, next or open: the four ways in which a strake is drawn."""
    if strake.is_hung:
        return "before_log" if strake.state.measured == "before_log" else "hung"
    return "next" if hull.is_next(strake) else "open"


def summary_of(hull) -> str:
    """Return the strip in one sentence: what hangs on each side, and what is next."""
    said = []
    for opening in hull.openings_here():
        strakes = strakes_counted(hull, opening)
        said.append(
            _("%(hung)d of %(all)d %(side)s strakes hung")
            % {"hung": sum(s.is_hung for s in strakes), "all": len(strakes), "side": _(opening.side)}
        )
    if hull.next:
        said.append(_("next %(side)s %(label)s") % {"side": _(hull.next.side), "label": hull.next.label})
    return "; ".join(said) + "." if said else _("No plan yet.")
