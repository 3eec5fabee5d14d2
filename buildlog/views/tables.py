"""Tables in and out: plan, girths, widths and gaps as files that a spreadsheet opens."""

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from buildlog.access import build_to_read
from buildlog.archive.tables import table_bytes
from buildlog.queries import tables as queries


@require_safe
def table_list(request, build_uuid):
    visit = build_to_read(request, build_uuid)
    context = {"visit": visit, "revisions": queries.numbered_revisions(visit.build)}
    return render(request, "tables/list.html", context)


@require_safe
def table_file(request, build_uuid, kind):
    visit = build_to_read(request, build_uuid)
    if kind not in queries.KINDS:
        raise Http404
    revision = _revision(request, visit) if kind == "plan" else None
    rows = queries.table_rows(visit.build, kind, revision)
    body = table_bytes(rows, mark=request.GET.get("mark") != "no")
    name = "-".join(part for part in (slugify(visit.build.name), kind, _number(revision)) if part)
    response = HttpResponse(body, content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    return response


def _number(revision) -> str:
    return f"revision-{revision.number}" if revision else ""


def _revision(request, visit):
    """Return the revision that is asked for by number, else the one in force; 404 for a number there is none of."""
    revisions = queries.numbered_revisions(visit.build)
    asked = request.GET.get("revision")
    if asked is None:
        return next((one for one in revisions if one.state == "in_force"), None)
    found = next((one for one in revisions if str(one.number) == asked), None)
    if found is None:
        raise Http404
    return found


for view in (table_list, table_file):
    view.room = "shed"
