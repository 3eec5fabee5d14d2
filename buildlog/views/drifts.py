"""Drift, as tables: per strake, belt and run, port beside starboard."""

from django.shortcuts import render
from django.views.decorators.http import require_safe

from buildlog.access import build_to_read
from buildlog.drawn.belt_dots import belt_dots_of
from buildlog.drawn.drift_tables import belt_words, drift_of, row_words

from .known_on import standing_on


@require_safe
def drift_list(request, build_uuid):
    visit = build_to_read(request, build_uuid)
    known = standing_on(request, visit)
    sides = [_side(known.hull, opening) for opening in known.hull.openings_here()]
    return render(request, "drifts/list.html", {"visit": visit, "known": known, "sides": [s for s in sides if s]})


drift_list.room = "hull"


def _side(hull, opening):
    review = hull.review(opening)
    if review is None:
        return None
    stations, runs = drift_of(hull, opening, review)
    return {
        "opening": opening, "review": review, "said": hull.said_of_notes(review), "stations": stations, "runs": runs,
        "told": [_in_lines(run, stations) for run in runs], "dots": list(_dots(opening, review, stations, runs)),
    }  # fmt: skip


def _in_lines(run, stations) -> dict:
    """Say of each belt of a run, and of the whole run, at which station it is furthest off."""
    belts = [(belt, belt_words(belt, stations)) for belt in run.belts if belt.name]
    return {"run": run, "belts": belts, "whole": row_words(run.carried, stations)}


def _dots(opening, review, stations, runs):
    """Yield each belt with its dots, from the wale to the keel as they were hung."""
    belts = [belt for run in runs for belt in run.belts]
    for number, belt in enumerate(belts):
        picture = belt_dots_of(opening, review, belt, number, belt_words(belt, stations))
        if picture:
            yield belt, picture
