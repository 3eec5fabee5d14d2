"""The Hull room: where the planks lie, and where the two runs are heading."""

from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from buildlog.access import build_to_read
from buildlog.drawn.drift_lines import drift_lines_of, headings_of
from buildlog.drawn.gap_wedges import gap_wedge_of
from buildlog.drawn.plank_maps import hull_drawn
from buildlog.drawn.progress import progress_of
from buildlog.drawn.tables import deviation_table
from buildlog.measuring.closed_hulls import largest_step
from buildlog.pictures.drawing import three_cuts
from buildlog.pictures.plank_map import plank_map

from .known_on import standing_on

CUTS = (328, 720, 1178)
NARROW = 328


@require_safe
def hull(request, build_uuid):
    visit = build_to_read(request, build_uuid)
    known = standing_on(request, visit)
    return render(request, "hull/detail.html", {"visit": visit, "known": known, **hull_context(known.hull)})


def hull_context(standing) -> dict:
    """Return what the Hull page shows of a hull, as it stands or as it was known."""
    openings = [(o, standing.review(o)) for o in standing.openings_here()]
    drawn = hull_drawn(standing)
    return {
        "openings": [(o, review, standing.said_of_notes(review)) for o, review in openings if review],
        "steps": _steps(standing, openings),
        "troubles": standing.troubles(),
        "map": _map(standing, drawn, openings) if drawn else None,
        "drifts": [(o, r, *_drift(standing, o, r)) for o, r in openings if r and r.hung],
        "wedges": [(o, wedge) for o, r in openings if r and r.strakes_left and (wedge := gap_wedge_of(o, r))],
        "tables": [(o, deviation_table(standing, o)) for o, review in openings],
        "progress": progress_of(standing),
        "day": standing.day,
    }


def _drift(standing, opening, review):
    """The picture, and where the runs are heading as the table beneath tells it."""
    headings = headings_of(standing, opening, review)
    return drift_lines_of(standing, opening, review, headings), headings


def _steps(standing, openings):
    """Where a closed side steps off the plan the most; nothing is asked of one that is still open."""
    closed = [opening for opening, review in openings if review and not review.strakes_left]
    return [(opening, step) for opening in closed if (step := largest_step(opening, standing.as_of))]


def _map(standing, drawn, openings):
    """Return both sides for a desk; on a phone the side being worked, drawn as large as the phone allows."""
    summary = " ".join(review.sentence for _o, review in openings if review) or _("The hull as planned.")
    side = standing.next.side if standing.next else drawn.sides[0].side
    narrow = hull_drawn(standing, sides=[side])
    return three_cuts([
        plank_map(drawn if width > NARROW else narrow, width, summary=summary) for width in CUTS
    ])  # fmt: skip
