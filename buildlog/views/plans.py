"""The Plan room: planned widths by strake and station, and the new widths that a gap asks for."""

from django.shortcuts import render
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from buildlog.access import build_to_read
from buildlog.drawn.heads import standing_hull
from buildlog.drawn.plan_tables import plan_table
from buildlog.forms.lengths import scale_of
from buildlog.measuring.fastenings import fastenings
from buildlog.measuring.plan_openings import warnings_of
from buildlog.models import PlanOpening, PlanRevision
from buildlog.queries.plan_widths import DraftOpening
from buildlog.queries.plans import counted, stealers_hung
from buildlog.queries.revisions import open_revisions


@require_safe
def plan(request, build_uuid):
    visit = build_to_read(request, build_uuid)
    hull = standing_hull(visit)
    if hull.revision is None:
        return render(request, "plans/none.html", {"visit": visit, "build": visit.build})
    template = "plans/_detail.html" if request.htmx else "plans/detail.html"
    return render(request, template, {"visit": visit, **plan_context(request, visit, hull)})


def plan_context(request, visit, hull) -> dict:
    """Return what the page shows: one side, on the model or at full size, all stations or one."""
    openings = hull.openings_here()
    side = request.GET.get("side")
    shown = next((o for o in openings if o.side == side), openings[0])
    before = _revision_before(hull.revision)
    table = plan_table(hull, shown, before)
    scale = scale_of(visit.build)
    full = scale is not None and request.GET.get("size") == "full"
    at = next((s for s in table.stations if s.name == request.GET.get("at")), None)
    return {
        "build": visit.build, "revision": hull.revision, "before": before, "opening": shown, "table": table,
        "others": [o for o in openings if o.pk != shown.pk], "scale": scale, "full": full, "at": at,
        "links": _links(shown.side, full, at), "ends_well": hull.revision.reason.endswith((".", "?")),
        "phone": phone_table(table),
        "open_revisions": open_revisions(visit.build) if visit.may_plan else [],
        "fastenings": fastenings(_at_dead_flat(table), scale), "width_warnings": _width_warnings(hull, shown, table),
        "station_links": _station_links(table, shown.side, full), "lines": _lines(table, at) if at else None,
        "hung": sum(strake.is_hung for strake in counted(hull.strakes[shown.pk])),
        "stealers": stealers_hung(hull.strakes[shown.pk]),
    }  # fmt: skip


def _at_dead_flat(table) -> list:
    """Return label and width of each strake at dead flat, keel side first; nothing where no station is that."""
    rows = [row for group in table.groups for row in group.rows]
    flat = [(row.label, cell.width_nm) for row in rows for cell in row.cells if cell.station.is_dead_flat]
    return [(label, width_nm) for label, width_nm in reversed(flat) if width_nm]


def _width_warnings(hull, opening, table) -> list:
    """Return what the widths still to be cut run against: the stock and the limits may have changed since."""
    plan = table.plan or PlanOpening(revision=hull.revision, opening=opening)
    strakes = hull.strakes.get(opening.pk, [])
    return warnings_of(DraftOpening(hull.revision, opening, plan, hull.stations, strakes))


def _revision_before(revision):
    return PlanRevision.objects.filter(build=revision.build, number=(revision.number or 0) - 1).first()


def _links(side, full, at) -> dict:
    """Return the query that stays when one of the three choices changes."""
    size = "full" if full else ""
    parts = {"side": side, "size": size, "at": at.name if at else ""}
    return {
        "size_model": _query(parts | {"size": ""}),
        "size_full": _query(parts | {"size": "full"}),
        "all": _query(parts | {"at": ""}),
        "kept": parts,
    }


def _query(parts) -> str:
    return "?" + urlencode({name: value for name, value in parts.items() if value})


def _station_links(table, side, full) -> list:
    """Return one link a station, forward to aft as they are read at the bench."""
    size = "full" if full else ""
    return [
        {"station": s, "url": _query({"side": side, "size": size, "at": s.name})}
        for s in reversed(table.stations)
    ]


def _lines(table, at) -> dict:
    """Return one station of the table, to be read down the page: each row's cell, and the sum."""
    index = table.stations.index(at)
    groups = [
        {"group": group, "rows": [{"row": row, "cell": row.cells[index]} for row in group.rows]}
        for group in table.groups
    ]
    return {"groups": groups, "sum": table.sums[index]}


def phone_table(table):
    """Return the stations a phone shows beside each other: five of those that are read by default."""
    default = [s for s in table.stations if s.read_by_default]
    return spread(default, 5)


def spread(stations, most):
    """Return at most so many of the stations, the ends among them, evenly apart."""
    if len(stations) <= most:
        return stations
    step = (len(stations) - 1) / (most - 1)
    return [stations[round(index * step)] for index in range(most)]
