"""Tables in and out: plan, girths, widths and gaps as files that a spreadsheet opens, and from one."""

import zoneinfo

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from buildlog.access import build_to_read, build_to_record, of_build
from buildlog.actions import tables as actions
from buildlog.actions.conflict import Conflict, NotPossible
from buildlog.archive.tables import table_bytes
from buildlog.forms.sheets import read_sheet
from buildlog.forms.table_cells import LEFT, NOTE, ODD, THERE
from buildlog.forms.table_columns import choices_of
from buildlog.forms.table_plans import dry_run_plan
from buildlog.forms.table_rows import dry_run
from buildlog.forms.tables import MatchForm, TableForm, propose
from buildlog.models import TableImport
from buildlog.queries import tables as queries
from buildlog.queries.table_imports import imports_of, known_for

# A page that lists more doubts than this is not read; the counts above it tell how many there are.
DOUBTS_SHOWN = 200


@require_safe
def table_list(request, build_uuid):
    visit = build_to_read(request, build_uuid)
    if visit.may_record:
        actions.forget_old_tables(now=request.now)
    return _list(request, visit, TableForm())


def _list(request, visit, form, status=200):
    context = {
        "visit": visit, "revisions": queries.numbered_revisions(visit.build), "form": form,
        "imports": imports_of(visit.build) if visit.may_record else [], "unmarked": request.GET.get("mark") == "no",
    }  # fmt: skip
    return render(request, "tables/list.html", context, status=status)


@require_POST
def table_send(request, build_uuid):
    """Keep a table that is sent, with what it is taken for at first sight."""
    visit = build_to_record(request, build_uuid)
    form = TableForm(request.POST, request.FILES)
    if not form.is_valid():
        return _list(request, visit, form)
    known = known_for(visit.build, "plan")
    matches = propose(form.sheet, known, form.name)
    if matches["kind"] == "plan" and not visit.may_plan:
        matches = propose(form.sheet, known, form.name, kind="widths")
    table = actions.keep_table(
        visit.build, kind=matches["kind"], name=form.name, text=form.text, matches=matches, person=visit.person,
        account=request.user, now=request.now,
    )  # fmt: skip
    return redirect("table-detail", visit.build.uuid, table.uuid)


def _table(request, build_uuid, table_uuid):
    visit = build_to_record(request, build_uuid)
    return visit, of_build(TableImport.objects.select_related("by", "revision"), visit.build, uuid=table_uuid)


@require_http_methods(["GET", "HEAD", "POST"])
def table_detail(request, build_uuid, table_uuid):
    """Show what would come of a table, and take down what the builder says of its columns."""
    visit, table = _table(request, build_uuid, table_uuid)
    if table.state != TableImport.State.DRAFT:
        return render(request, "tables/taken.html", {"visit": visit, "table": table})
    form, known, sheet = _match_form(request, visit, table, request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        actions.match_table(table, form.matches())
        return redirect("table-detail", visit.build.uuid, table.uuid)
    return _preview(request, visit, table, form, _run(request, visit, table, sheet, known))


def _match_form(request, visit, table, data):
    kind = table.matches["kind"]
    known, sheet = known_for(visit.build, kind), read_sheet(table.text)
    today = request.now.astimezone(zoneinfo.ZoneInfo(visit.build.time_zone)).date()
    form = MatchForm(data, sheet=sheet, known=known, matches=table.matches, today=today, person=visit.person)
    if not visit.may_plan:
        form.fields["kind"].choices = [choice for choice in form.fields["kind"].choices if choice[0] != "plan"]
    return form, known, sheet


def _run(request, visit, table, sheet, known):
    today = request.now.astimezone(known.zone).date().isoformat()
    matches = {"happened_on": today, "importer": visit.person.pk, **table.matches}
    if matches["kind"] == "plan":
        return dry_run_plan(sheet, known, matches)
    return dry_run(sheet, known, matches, now=request.now)


def _preview(request, visit, table, form, run, *, problem="", status=200):
    order = [LEFT, ODD, NOTE]
    doubts = [doubt for doubt in run.doubts if doubt.weight != THERE]
    doubts.sort(key=lambda doubt: (order.index(doubt.weight), doubt.row))
    there = [doubt for doubt in run.doubts if doubt.weight == THERE]
    coming = run.plan.count if run.plan is not None else len(run.to_take(table.matches.get("odd", "leave")))
    counts = {weight: sum(doubt.weight == weight for doubt in run.doubts) for weight in order}
    context = {
        "visit": visit, "table": table, "form": form, "run": run, "counts": counts, "choices": choices_of(form),
        "doubts": doubts[:DOUBTS_SHOWN], "more": max(0, len(doubts) - DOUBTS_SHOWN), "there": there[:DOUBTS_SHOWN],
        "more_there": max(0, len(there) - DOUBTS_SHOWN), "coming": coming, "problem": problem,
        "rows": len(form.sheet.rows),
    }  # fmt: skip
    return render(request, "tables/detail.html", context, status=status)


@require_POST
def table_take(request, build_uuid, table_uuid):
    """Take the table in as it was last shown."""
    visit, table = _table(request, build_uuid, table_uuid)
    if table.kind == "plan" and not visit.may_plan:
        raise PermissionDenied
    if table.state != TableImport.State.DRAFT:
        return redirect("table-detail", visit.build.uuid, table.uuid)
    form, known, sheet = _match_form(request, visit, table, None)
    run = _run(request, visit, table, sheet, known)
    try:
        _take(request, visit, table, run)
    except (Conflict, NotPossible) as refused:
        return _preview(request, visit, table, form, run, problem=refused.sentence, status=409)
    return redirect("table-detail", visit.build.uuid, table.uuid)


def _take(request, visit, table, run):
    who = {"person": visit.person, "account": request.user, "now": request.now}
    odd = table.matches.get("odd", "leave")
    left_out = sum(one.weight == LEFT or (one.weight == ODD and odd != "take") for one in run.doubts)
    if table.kind == "plan":
        actions.take_in_plan(table, run.plan, left_out=left_out, **who)
        return
    actions.take_in_readings(
        table, run.to_take(odd), left_out=left_out, standing=table.matches.get("standing", "as_read"), **who
    )


@require_POST
def table_undo(request, build_uuid, table_uuid):
    visit, table = _table(request, build_uuid, table_uuid)
    if table.kind == "plan" and not visit.may_plan:
        raise PermissionDenied
    try:
        undone = actions.undo_table(table, person=visit.person, account=request.user, now=request.now)
    except (Conflict, NotPossible) as refused:
        context = {"visit": visit, "table": table, "problem": refused.sentence}
        return render(request, "tables/taken.html", context, status=409)
    messages.success(request, _undone_in_words(undone.result["kept"]))
    return redirect("table-detail", visit.build.uuid, table.uuid)


def _undone_in_words(kept) -> str:
    if not kept:
        return _("The table is undone.")
    stays = ngettext(
        "%(n)d thing that somebody went on with since stays.",
        "%(n)d things that somebody went on with since stay.",
        kept,
    ) % {"n": kept}
    return f"{_('The table is undone.')} {stays}"


@require_POST
def table_throw_away(request, build_uuid, table_uuid):
    visit, table = _table(request, build_uuid, table_uuid)
    actions.throw_away_table(table)
    return redirect("table-list", visit.build.uuid)


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


for view in (table_list, table_file, table_send, table_detail, table_take, table_undo, table_throw_away):
    view.room = "shed"
