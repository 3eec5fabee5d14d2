"""One strake's own page: its plan, planks, readings, photographs, and what was written of it."""

from django.http import Http404
from django.shortcuts import render
from django.views.decorators.http import require_safe

from buildlog.access import build_to_read
from buildlog.drawn.strake_sheets import strake_sheet_of
from buildlog.forms.shop import WoodForm
from buildlog.measuring.strakes import strake_at_stations
from buildlog.queries.instruments import zeros_behind
from buildlog.queries.strakes import lot_of, story_of

from .known_on import standing_on


@require_safe
def strake_detail(request, build_uuid, strake_uuid):
    visit = build_to_read(request, build_uuid)
    known = standing_on(request, visit)
    hull = known.hull
    opening, strake = strake_of(hull, strake_uuid)
    stations = strake_at_stations(hull, opening, strake.label)
    story = story_of(strake, known.as_of)
    counting = [shown.reading for shown in story.readings if shown.counts]
    return render(request, "strakes/detail.html", {
        "visit": visit, "known": known, "opening": opening, "strake": strake, "stations": stations,
        "story": story, "zeros": zeros_behind(counting, known.as_of),
        "sheet": strake_sheet_of(hull, opening, strake, stations),
        "worst": worst_of(stations), "trouble": hull.trouble(opening),
        "wood": _wood(visit, strake), **neighbours(hull, opening, strake),
    })  # fmt: skip


strake_detail.room = "hull"


def _wood(visit, strake):
    """Return the choice of wood lots, or None while the shop has none."""
    form = WoodForm(build=visit.build, initial={"lot": lot_of(strake.plan.strake)})
    return form if visit.may_record and form.fields["lot"].queryset.exists() else None


def strake_of(hull, strake_uuid):
    """Return the opening and the strake of the plan in force that a URL names, or 404."""
    for opening in hull.openings:
        for strake in hull.strakes.get(opening.pk, []):
            if strake.plan.strake.uuid == strake_uuid:
                return opening, strake
    raise Http404


def worst_of(stations):
    """Return the station where the strake is furthest off, or None where nothing was read."""
    read = [s for s in stations if s.off_nm is not None]
    return max(read, key=lambda s: abs(s.off_nm), default=None)


def neighbours(hull, opening, strake) -> dict:
    """Return the strakes on either side of one, and its like on the other side of the hull."""
    row = hull.strakes[opening.pk]
    index = row.index(strake)
    others = [o for o in hull.openings if o.layer == opening.layer and o.side != opening.side]
    pair = next(
        ((o, s) for o in others for s in hull.strakes.get(o.pk, []) if s.label == strake.label), (None, None)
    )
    return {
        "keel_side": row[index - 1] if index else None,
        "wale_side": row[index + 1] if index + 1 < len(row) else None,
        "pair_opening": pair[0],
        "pair": pair[1],
    }
