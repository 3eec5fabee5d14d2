"""Many photographs at once: a slate that sorts those after it, a camera's clock put right, and taking either back."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST

from buildlog.access import build_to_record, of_build
from buildlog.actions.conflict import NotPossible
from buildlog.actions.photo_changes import shift_clock, shifted, sort_by_slate, undo_change
from buildlog.drawn.photo_choices import session_choices, strake_choices
from buildlog.forms.photo_changes import ClockForm, SlateForm
from buildlog.models import PhotoChange, Session, Strake
from buildlog.queries.photos import after_slate, cameras_of, marked, photos_of, taken_at

from .photos import photo_of

MOST_AT_ONCE = 1000


@require_http_methods(["GET", "HEAD", "POST"])
def photo_slate(request, build_uuid, photo_uuid):
    """One photograph shows a slate; what its camera took after it is shown, then sorted in one go."""
    visit = build_to_record(request, build_uuid)
    slate = photo_of(visit, photo_uuid)
    after = after_slate(slate)
    if request.method != "POST":
        return _slate_page(request, visit, slate, after, _slate_form(visit, slate))
    form = _slate_form(visit, slate, request.POST)
    if not form.is_valid():
        return _slate_page(request, visit, slate, after, form)
    ticked = set(request.POST.getlist("photo"))
    chosen = [photo for photo in after if str(photo.uuid) in ticked]
    change = sort_by_slate(slate, chosen, **_belong(visit, form.cleaned_data), person=visit.person, now=request.now)
    count = len(change.before) if change else 0
    said = ngettext("%(n)d photograph sorted.", "%(n)d photographs sorted.", count) % {"n": count}
    messages.success(request, said)
    return redirect(_all_of(visit))


photo_slate.room = "log"


def _slate_form(visit, slate, data=None):
    found = marked(slate)
    initial = {
        "session": str(slate.session.uuid) if slate.session else "",
        "strake": str(found.strakes[0].uuid) if found.strakes else "",
    }
    choices = {
        "sessions": session_choices(visit, standing=slate.session, none=_("as it is")),
        "strakes": [("", _("as it is")), *strake_choices(visit)],
    }
    return SlateForm(data, initial=initial, **choices)


def _belong(visit, cleaned) -> dict:
    session, strake = cleaned["session"], cleaned["strake"]
    strakes = Strake.objects.select_related("opening")
    return {
        "session": of_build(Session.objects, visit.build, uuid=session) if session else None,
        "strake": of_build(strakes, visit.build, lookup="opening__build", uuid=strake) if strake else None,
    }


def _slate_page(request, visit, slate, after, form):
    ticked = set(request.POST.getlist("photo")) if request.method == "POST" else None
    rows = [
        {"photo": photo, "taken": taken_at(photo), "ticked": ticked is None or str(photo.uuid) in ticked}
        for photo in after
    ]
    context = {"visit": visit, "photo": slate, "taken": taken_at(slate), "rows": rows, "form": form}
    return render(request, "photo_changes/slate.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def photo_clock(request, build_uuid):
    """Put the times of chosen photographs right: first shown, then done."""
    visit = build_to_record(request, build_uuid)
    photos = _chosen(request, visit)
    if request.method != "POST" or not photos:
        form = ClockForm() if request.method != "POST" else ClockForm(request.POST)
        return _clock_page(request, visit, photos, form, nothing=request.method == "POST")
    form = ClockForm(request.POST)
    if not form.is_valid():
        return _clock_page(request, visit, photos, form)
    span = form.cleaned_data["span"]
    try:
        preview = [(photo, taken_at(photo), shifted(taken_at(photo), span)) for photo in photos]
        if "sure" not in request.POST:
            return _clock_page(request, visit, photos, form, preview=preview)
        change = shift_clock(visit.build, photos, minutes=span, person=visit.person, now=request.now)
    except NotPossible as refused:
        form.add_error(refused.field or None, refused.sentence)
        return _clock_page(request, visit, photos, form)
    count = len(change.before) if change else 0
    said = ngettext(
        "The time of %(n)d photograph was put right.", "The times of %(n)d photographs were put right.", count
    )
    messages.success(request, said % {"n": count})
    return redirect(_all_of(visit))


photo_clock.room = "log"


def _chosen(request, visit) -> list:
    """Return the photographs with a time that were ticked, or all of one camera."""
    sent = request.POST if request.method == "POST" else request.GET
    photos = photos_of(visit.build).exclude(taken_local="").order_by("taken_local", "pk")
    if camera := sent.get("camera", ""):
        return list(photos.filter(camera=camera)[:MOST_AT_ONCE])
    try:
        return list(photos.filter(uuid__in=sent.getlist("photo")[:MOST_AT_ONCE]))
    except ValidationError:
        return []


def _clock_page(request, visit, photos, form, preview=(), nothing=False):
    rows = [
        {"photo": photo, "was": was, "right": right, "moves": was.date() != right.date()}
        for photo, was, right in preview
    ]
    return render(request, "photo_changes/clock.html", {
        "visit": visit, "photos": photos, "form": form, "rows": rows, "nothing": nothing,
        "cameras": cameras_of(visit.build) if not photos else [],
        "taken": [taken_at(photo) for photo in photos[:1] + photos[-1:]] if photos else [],
    })  # fmt: skip


@require_POST
def photo_change_undo(request, build_uuid, change_uuid):
    visit = build_to_record(request, build_uuid)
    change = of_build(PhotoChange.objects.select_related("build"), visit.build, uuid=change_uuid)
    try:
        stayed = undo_change(change, person=visit.person, now=request.now)
    except NotPossible as refused:
        messages.warning(request, refused.sentence)
        return redirect(_all_of(visit))
    messages.success(request, _("Taken back."))
    if stayed:
        said = ngettext(
            "%(n)d photograph was changed again since and keeps that.",
            "%(n)d photographs were changed again since and keep that.", stayed,
        )  # fmt: skip
        messages.info(request, said % {"n": stayed})
    return redirect(_all_of(visit))


def _all_of(visit) -> str:
    return f"{reverse('photo-list', args=[visit.build.uuid])}?show=all"
