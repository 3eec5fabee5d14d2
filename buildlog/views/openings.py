"""One opening: the sum behind its verdict, station by station."""

from django.shortcuts import render
from django.views.decorators.http import require_safe

from buildlog.access import build_to_read, of_build
from buildlog.drawn.plank_maps import short_words
from buildlog.drawn.sum_sources import sources_of
from buildlog.drawn.tables import drift_rows
from buildlog.models import Opening

from .known_on import standing_on


@require_safe
def opening_sums(request, build_uuid, opening_uuid):
    visit = build_to_read(request, build_uuid)
    opening = of_build(Opening.objects, visit.build, uuid=opening_uuid)
    known = standing_on(request, visit)
    review = known.hull.review(opening)
    facts = known.hull.facts(opening) if review else None
    rows = [
        (s, short_words(s.short_mm), drift_rows(s.wale_drift), drift_rows(s.keel_drift), sources_of(facts, s))
        for s in stations_of(review)
    ]
    notes = [(number, note) for number, note in enumerate(review.notes if review else (), 1) if note.sum]
    context = {
        "visit": visit, "known": known, "opening": opening, "review": review, "rows": rows, "notes": notes,
        "note_asked": note_number(request.GET.get("note", "")), "limits": _shares(facts) if facts else None,
    }  # fmt: skip
    return render(request, "openings/sums.html", context)


def _shares(facts) -> dict[str, str]:
    """Return what the eye forgives as shares in hundredths, without noughts behind."""
    return {"step": f"{100 * facts.limits.step_share:g}", "closing": f"{100 * facts.limits.closing_share:g}"}


def note_number(typed: str) -> int | None:
    """Return which note a link asked to see opened; nothing where it names none."""
    return int(typed) if typed.isdecimal() and len(typed) < 4 else None


def stations_of(review):
    return review.stations if review else ()


opening_sums.room = "hull"
