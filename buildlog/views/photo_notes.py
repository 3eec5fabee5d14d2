"""Photo + note: photographs many at once and words, kept with today's session."""

import uuid

from django.contrib import messages
from django.http import JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from buildlog import access
from buildlog.actions.photo_notes import Received, receive_photos
from buildlog.actions.sessions import session_for, write_note
from buildlog.drawn.heads import standing_hull
from buildlog.forms.photo_notes import PhotoNoteForm
from buildlog.models import Strake

from .entries import wants_json


@require_http_methods(["GET", "HEAD", "POST"])
def photo_note(request, build_uuid):
    visit = access.build_to_record(request, build_uuid)
    strakes = strakes_to_name(visit)
    if request.method != "POST":
        initial = {"batch": uuid.uuid4(), "strake": request.GET.get("strake", "")}
        return _page(request, visit, PhotoNoteForm(initial=initial, strakes=strakes))
    form = PhotoNoteForm(request.POST, request.FILES, strakes=strakes)
    if not form.is_valid():
        return photos_as_json(form) if wants_json(request) else _page(request, visit, form)
    received = _keep(request, visit, form.cleaned_data)
    said = _sentences(visit.build, received)
    for sentence in said:
        messages.info(request, sentence)
    if wants_json(request):
        return _sent(request, visit, form, received, said)
    if received.refused:
        return _page(
            request, visit, _emptied(form, strakes), received, status=507 if received.disk_full else 200
        )
    _say(request, form.cleaned_data, received)
    return redirect("bench", visit.build.uuid)


photo_note.room = "bench"


def strakes_to_name(visit) -> list:
    """Return the strakes that a photograph or a note may be about, what hangs last first in each opening."""
    hull = standing_hull(visit)
    return [
        (str(s.plan.strake.uuid), f"{opening.get_side_display()} {s.label}")
        for opening in hull.openings
        for s in reversed(hull.strakes.get(opening.pk, []))
    ]


def _keep(request, visit, cleaned) -> Received:
    """Words first: they are small, and a full disk may still take them."""
    if cleaned["note"].strip() or cleaned["next_note"].strip():
        write_note(
            visit.build,
            note=cleaned["note"],
            next_note=cleaned["next_note"],
            person=visit.person,
            now=request.now,
            happened_at=request.kept_at,
        )
    if not cleaned["photos"]:
        return Received()
    strake = _strake_of(visit.build, cleaned["strake"])
    received = receive_photos(
        visit.build, visit.person, cleaned["photos"], batch=cleaned["batch"],
        session=lambda: session_for(
            visit.build, person=visit.person, now=request.now, happened_at=request.kept_at
        ),
        caption=cleaned["caption"].strip(), strake=strake, now=request.now,
    )  # fmt: skip
    received.without_strake = bool(cleaned["strake"] and strake is None)
    return received


def _strake_of(build, strake_uuid):
    """Return the strake that was chosen, or None where this build has it no more: a photograph is kept without it."""
    strakes = Strake.objects.select_related("opening").filter(opening__build=build)
    return strakes.filter(uuid=strake_uuid).first() if strake_uuid else None


def _emptied(form, strakes):
    """Words that were kept leave their fields; a file that was refused has to be chosen again."""
    initial = {
        "batch": uuid.uuid4(),
        "strake": form.cleaned_data["strake"],
        "caption": form.cleaned_data["caption"],
    }
    return PhotoNoteForm(initial=initial, strakes=strakes)


def _sentences(build, received) -> list[str]:
    """Say what became of photographs otherwise than was asked: a strake that is gone, a file the log has already."""
    said = [_twice_in_words(build, one) for one in received.twice]
    names = ", ".join(one["name"] for one in received.kept)
    if received.without_strake and names:
        sentence = _("%(names)s: kept without the strake that was chosen, which is not in this build.")
        said.append(sentence % {"names": names})
    return said


def _twice_in_words(build, one) -> str:
    """The same file from another evening, or from somebody else, is one photograph."""
    told = {"name": one["name"], "day": date_format(one["photo"].received_at, "j F Y")}
    said = [_("%(name)s is in the log already, since %(day)s, and is not kept twice.") % told]
    if one["is_laid_on"]:
        said.append(_("What was sent with it now stands with it."))
    if one["noted"]:
        day = date_format(one["noted"].local_date, "j F Y")
        said.append(_("What was sent with it is kept in your note of %(day)s.") % {"day": day})
    return " ".join(said)


def _say(request, cleaned, received):
    count = len(received.kept) - len(received.twice) + (cleaned["sent"] or 0)
    if count:
        messages.success(
            request,
            ngettext("%(count)d photograph received.", "%(count)d photographs received.", count)
            % {"count": count},
        )
    if cleaned["note"].strip() or cleaned["next_note"].strip():
        messages.success(request, _("The note is kept."))


def _sent(request, visit, form, received, said):
    """Photographs come one by one; what they and the words came to is said once, on the page after the words."""
    cleaned = form.cleaned_data
    if not received.kept and not received.refused:
        _say(request, cleaned, received)
    return photos_as_json(form, received, next_url=reverse("bench", args=[visit.build.uuid]), said=said)


def _page(request, visit, form, received=None, status=200):
    context = {"visit": visit, "build": visit.build, "form": form, "received": received}
    return render(request, "photo_notes/form.html", context, status=status)


def photos_as_json(form, received=None, next_url="", said=()):
    received = received or Received()
    body = {
        "photos": [
            {"uuid": str(one["photo"].uuid), "client_uuid": str(one["photo"].client_uuid), "created": one["created"],
             "name": one["name"]}
            for one in received.kept
        ],
        "refused": received.refused, "errors": form.errors, "next": next_url, "said": list(said),
    }  # fmt: skip
    if received.disk_full:
        return JsonResponse(body, status=507)
    if received.refused or form.errors:
        return JsonResponse(body, status=422)
    return JsonResponse(body, status=201 if any(one["created"] for one in received.kept) else 200)
