"""What the entries of widths and gaps answer alike: JSON for a waiting list, and both figures after a conflict."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import JsonResponse
from django.utils.translation import gettext as _

from buildlog.forms.takes import kept_names
from buildlog.models import Reading


def wants_json(request) -> bool:
    return request.get_preferred_type(["text/html", "application/json"]) == "application/json"


def as_json(form, saved, *, next_url, in_place=False):
    """Answer the waiting list of a phone: what is kept by its own name, what is asked, what met another figure, and
    where a hand would be led next; ``in_place`` where that takes the place of the form in the page it stands on.
    """
    readings = saved.readings if saved else {}
    conflicts = saved.conflicts if saved else {}
    body = {
        "readings": [
            {"uuid": str(r.uuid), "client_uuid": str(r.client_uuid), "created": name in saved.created}
            for name, r in readings.items()
        ],
        "next": next_url, "in_place": in_place,
        "asks": {name: question.sentence for name, question in form.questions.items()},
        "refused": {name: list(errors) for name, errors in form.errors.items() if name not in form.questions},
        "conflicts": {
            name: {"sentence": c.sentence, "theirs": c.theirs.typed, "yours": form.data.get(name, "")}
            for name, c in conflicts.items()
        },
    }  # fmt: skip
    if body["conflicts"]:
        return JsonResponse(body, status=409)
    if body["asks"] or body["refused"]:
        return JsonResponse(body, status=422)
    return JsonResponse(body, status=201 if saved and saved.created else 200)


def say_arrived(request, name, sentence):
    """Keep for the next page what came of an item that waited on a phone."""
    told = {"name": name, "sentence": sentence}
    messages.success(request, _("%(name)s arrived: %(sentence)s") % told if sentence else _("%(name)s arrived.") % told)


def both_shown(form, saved):
    """Return the draft and both figures of each conflict; the field comes back under a new name of its own, so
    that sending it again makes it another take."""
    draft, both = form.data.copy(), []
    for name, conflict in saved.conflicts.items():
        draft.pop(f"{name}-uuid", None)
        yours = form.data.get(name, "") or form.why(name)
        both.append({"name": name, "theirs": conflict.theirs, "yours": yours, "conflict": conflict})
    return draft, both


def kept_readings(build, data) -> dict:
    """Return the readings that an earlier post of the same entry saved, by the field each was typed in."""
    names = kept_names(data)
    if not names:
        return {}
    try:
        rows = list(Reading.objects.filter(build=build, uuid__in=names.values()).select_related("station"))
    except ValidationError:
        return {}
    found = {str(row.uuid): row for row in rows}
    return {name: found[text] for name, text in names.items() if text in found}
