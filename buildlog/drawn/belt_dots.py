"""The dots of a belt, habit or luck, as the picture is told them."""

from django.utils.translation import gettext as _

from buildlog.pictures.belt_dots import StrakeDots, belt_dots
from buildlog.pictures.drawing import half_cuts

CUTS = (328, 548)


def belt_dots_of(opening, review, belt, number, words):
    """Return the dots of one belt of a run in two cuts, or None where none of its strakes was read."""
    order = [row.label for row in belt.rows]
    labels = set(order)
    offs = {label: [] for label in labels}
    for station in review.stations:
        for point in (*station.wale_drift, *station.keel_drift):
            if point.strake in labels and point.read_here:
                offs[point.strake].append(point.deviation_mm)
    strakes = [StrakeDots(label, tuple(offs[label])) for label in order if offs[label]]
    if not strakes:
        return None
    limit = max((s.step_limit_mm or 0.0 for s in review.stations), default=0.0)
    name = belt.name or opening.get_side_display()
    summary = _("%(belt)s: %(words)s, together.") % {"belt": name, "words": words}
    key = f"dots-{opening.side}-{number}"
    return half_cuts(*(belt_dots(strakes, limit, width, summary=summary, key=key) for width in CUTS))
