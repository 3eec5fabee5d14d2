"""Port beside starboard: where the seams stand on the two sides, and how each hand cuts."""

from django.shortcuts import render
from django.views.decorators.http import require_safe

from buildlog.access import build_to_read
from buildlog.drawn.sides import (
    apart_as_shown,
    apart_words,
    butterfly_of,
    closing_words,
    count_words,
    hands_words,
    ladder_of,
    off_words,
    seam_rows,
    seam_words,
)
from buildlog.measuring.sides import both_sides

from .known_on import standing_on


@require_safe
def sides(request, build_uuid):
    visit = build_to_read(request, build_uuid)
    known = standing_on(request, visit)
    pairs = [_shown(both) for both in both_sides(known.hull)]
    context = {"visit": visit, "known": known, "pairs": pairs, "troubles": known.hull.troubles()}
    return render(request, "sides/detail.html", context)


def _shown(both) -> dict:
    rows = [
        (row, [(seam, apart_words(seam.apart_mm) if seam else "") for seam in row.cells]) for row in seam_rows(both)
    ]
    return {
        "both": both, "found": both.found, "sentence": seam_words(both) if both.seams else "",
        "stations": list(reversed(both.stations)), "rows": rows, "ladder": ladder_of(both),
        "butterfly": butterfly_of(both), "hands": hands_words(both.found),
        "counts": count_words(both.found), "closing": closing_words(both.found),
        "strakes": [_strake(one) for one in both.strakes],
    }  # fmt: skip


def _strake(one):
    apart_mm = apart_as_shown(one)
    apart = "–" if apart_mm is None else apart_words(apart_mm)
    return one, off_words(one.port_mm), off_words(one.starboard_mm), apart


sides.room = "hull"
