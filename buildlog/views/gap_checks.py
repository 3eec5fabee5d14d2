"""A gap check: how it was read, planned against measured, and what ate the gap."""

from math import pi

from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from buildlog.access import build_to_read, of_build
from buildlog.drawn.gap_checks import check_table
from buildlog.drawn.gap_wedges import gap_wedge_of
from buildlog.forms.gap_checks import GapCheckForm
from buildlog.forms.gaps import chord_short_mm
from buildlog.measuring.reviews import review_of
from buildlog.models import Opening
from buildlog.pictures.axes import signed
from buildlog.queries.gap_checks import gap_checks


@require_safe
def gap_check(request, build_uuid, opening_uuid):
    visit = build_to_read(request, build_uuid)
    opening = of_build(Opening.objects.select_related("build"), visit.build, uuid=opening_uuid)
    checks = gap_checks(opening)
    asked = request.GET.get("on", "")
    check = next((one for one in checks if one.day.isoformat() == asked), None if asked else next(iter(checks), None))
    form = GapCheckForm(request.GET if "bilge" in request.GET else None)
    context = {
        "visit": visit, "build": visit.build, "opening": opening, "checks": checks, "check": check, "form": form,
        "asked": asked, "others": _others(visit.build, opening),
    }  # fmt: skip
    if check:
        context |= _shown(opening, check, form.radius_mm)
    return render(request, "gap_checks/detail.html", context)


def _others(build, opening):
    return build.openings.filter(layer=opening.layer).exclude(pk=opening.pk)


def _shown(opening, check, radius_mm) -> dict:
    review = review_of(opening, check.as_of)
    if review is None:
        return {"review": None}
    table = check_table(review, check)
    words = {
        "in_plan": _("in the plan"), "widths": _("widths"), "girth": _("girth"), "seams": _("seams"),
        "weighed": _("all readings weighed"), "left_over": _("left over"),
    }  # fmt: skip
    spans = [(row, chord_short_mm(row.planned_mm, radius_mm), row.planned_mm > radius_mm * pi) for row in table.spans]
    return {
        "review": review, "table": table, "radius_mm": radius_mm,
        "wedge": gap_wedge_of(opening, review, [row.station for row in table.rows]),
        "part_words": [words[name] for name in table.part_names], "spans": spans,
        "rows": [_cells(row) for row in table.rows],
        "follows": [_follows(row) for row in table.rows if row.closing],
        "by_jaws": [(row, short) for row, short, _round in spans if "jaws" in row.method],
    }  # fmt: skip


def _cells(row) -> dict:
    return {
        "row": row, "planned": _mm(row.planned_mm), "measured": _mm(row.measured_mm), "short": _mm(row.short_mm),
        "parts": [signed(part) for part in row.parts],
    }  # fmt: skip


def _follows(row) -> dict:
    return {
        "row": row, "planned": _mm(row.closing.planned_mm), "even": _mm(row.closing.even_mm),
        "alone": _mm(row.left_alone_mm), "step": "–" if row.step_mm is None else signed(row.step_mm),
    }  # fmt: skip


def _mm(value) -> str:
    return "–" if value is None else f"{value:.2f}".replace("-", "−")


gap_check.room = "hull"
