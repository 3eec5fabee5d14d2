"""The work packet: what a phone needs to go on recording without a signal."""

from django.http import JsonResponse
from django.urls import reverse
from django.views.decorators.http import require_safe

from buildlog import access
from buildlog.drawn.heads import standing_hull
from buildlog.queries.bench import strakes_to_choose
from buildlog.queries.packets import strakes_of_packet

from .widths import entry_of, form_defaults


@require_safe
def packet(request, build_uuid):
    """Give the next strakes with their stations and widths wanted, as the entry of each would show them."""
    visit = access.build_to_record(request, build_uuid)
    hull = standing_hull(visit)
    choices = strakes_of_packet(strakes_to_choose(hull)) if hull.revision else []
    entries = [(choice, _entry(visit, choice)) for choice in choices]
    forms = [entry.form(draft={}) for _choice, entry in entries[:1]]
    return JsonResponse({
        "build": str(visit.build.uuid), "name": visit.build.name, "owner": str(request.user.uuid),
        "person": visit.person.display_name,
        "revision": hull.revision.number if hull.revision else 0,
        "unit": str(forms[0].ruler.unit_words) if forms else "mm",
        # None where the instrument has no point that could set itself.
        "places": forms[0].decimals if forms else None,
        "within": "0.0015" if forms and forms[0].ruler.unit == "in" else "0.03",
        "photo_url": reverse("photo-note", args=[visit.build.uuid]),
        "strakes": [_strake(visit, choice, entry) for choice, entry in entries],
    })  # fmt: skip


packet.room = "bench"


def _entry(visit, choice):
    row = choice.strake.plan.strake
    row.opening = choice.opening
    choice.opening.build = visit.build
    return entry_of(visit, row, typed={})


def _strake(visit, choice, entry) -> dict:
    row, defaults = choice.strake.plan.strake, form_defaults(entry)
    return {
        "uuid": str(row.uuid), "title": f"{choice.opening.get_side_display()} {choice.strake.label}",
        "url": reverse("widths-record", args=[visit.build.uuid, row.uuid]), "stage": defaults["stage"],
        "instrument": str(entry.instrument.uuid) if entry.instrument else "",
        "stations": [
            {"name": line["field"].html_name, "at": line["station"].name, "wanted": line["wanted"]}
            for line in entry.form(draft=defaults).rows
        ],
    }  # fmt: skip
