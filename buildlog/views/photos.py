"""Photographs: all of them and the tray, one by itself, and the files handed out one by one to whoever may see them.
No folder of them is ever served.
"""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.http import FileResponse, Http404, HttpResponse, HttpResponseNotModified
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from buildlog.access import build_to_own, build_to_plan, build_to_read, build_to_record, of_build
from buildlog.actions.conflict import Conflict
from buildlog.actions.photo_changes import BY_DATE, edit_photo, label_photos
from buildlog.actions.photos import put_back_photo, take_out_photo
from buildlog.actions.shares import share
from buildlog.drawn import photo_choices
from buildlog.forms import photos as photo_forms
from buildlog.models import Photo, PhotoRendition, PhotoSeries, Session, Station, Strake
from buildlog.photos import store
from buildlog.photos.kinds import SUFFIXES, kind_of_type
from buildlog.queries.log import labels_of
from buildlog.queries.photos import (
    A_PAGE,
    last_change,
    marked,
    moment_of,
    neighbours_of,
    photos_of,
    taken_at,
    tray_count,
    words_for,
)  # fmt: skip

_ORIGINAL = "original"
SHOWS = ("tray", "all", "out")


@require_safe
def photo_list(request, build_uuid):
    """All photographs, those without a label first; many are chosen at once and labelled below."""
    visit = build_to_read(request, build_uuid)
    return _list_page(request, visit, request.GET.get("show", ""))


photo_list.room = "log"


def _list_page(request, visit, show, form=None, ticked=()):
    waiting = tray_count(visit.build)
    show = show if show in SHOWS else "tray" if waiting else "all"
    if show == "out" and not visit.may_plan:
        raise PermissionDenied
    page = Paginator(photos_of(visit.build, show), A_PAGE).get_page(request.GET.get("page"))
    if request.GET.get("tick") == "all":
        ticked = {str(photo.uuid) for photo in page.object_list}
    may_label = visit.may_record and show != "out"
    return render(request, "photos/list.html", {
        "visit": visit, "show": show, "page": page, "waiting": waiting, "may_label": may_label,
        "tiles": _tiles(visit.build, list(page.object_list), set(ticked)),
        "form": (form or _label_form(visit)) if may_label else None,
        "change": last_change(visit.build, visit.person, request.now) if visit.may_record else None,
    })  # fmt: skip


def _tiles(build, photos, ticked) -> list[dict]:
    labels = labels_of(build) if photos else {}
    return [
        {
            "photo": photo, "ticked": str(photo.uuid) in ticked, "taken": taken_at(photo),
            "strakes": list(dict.fromkeys(labels[m.strake_id] for m in photo.marks.all() if m.strake_id in labels)),
        }
        for photo in photos
    ]  # fmt: skip


def _choices(visit, **words) -> dict:
    sides = dict.fromkeys([*visit.build.side_list, *words.get("side", ())])
    return {
        "sides": sides,
        "strakes": photo_choices.strake_choices(visit), "stations": photo_choices.station_choices(visit),
        "sessions": photo_choices.session_choices(visit, standing=words.get("standing"), none=words.get("none")),
        "series": photo_choices.series_choices(visit, none=words.get("none")),
    }  # fmt: skip


def _label_form(visit, data=None):
    choices = _choices(visit, none=_("as it is"))
    choices["sessions"].insert(1, (photo_forms.BY_DATE, _("each by its own date")))
    return photo_forms.LabelForm(data, **choices)


@require_POST
def photo_label(request, build_uuid):
    """Label the photographs that are ticked, all in one go."""
    visit = build_to_record(request, build_uuid)
    form, show = _label_form(visit, request.POST), request.POST.get("show", "")
    ticked = set(request.POST.getlist("photo"))
    photos = [photo for photo in photos_of(visit.build) if str(photo.uuid) in ticked]
    if form.is_valid() and not photos:
        form.add_error(None, _("No photograph is ticked: tick those that the label is for."))
    if not form.is_valid():
        return _list_page(request, visit, show, form, ticked)
    chosen = _chosen(visit, form.cleaned_data)
    change = label_photos(visit.build, photos, **chosen, person=visit.person, now=request.now)
    count = len(change.before) if change else 0
    said = ngettext("%(n)d photograph labelled.", "%(n)d photographs labelled.", count) % {"n": count}
    messages.success(request, said)
    return redirect(f"{reverse('photo-list', args=[visit.build.uuid])}?show={show if show in SHOWS else ''}")


photo_label.room = "log"


def _chosen(visit, cleaned) -> dict:
    """Return the rows that were chosen; each is of this build, or it is not found."""
    build = visit.build
    strakes = Strake.objects.select_related("opening").filter(opening__build=build, uuid__in=cleaned["strakes"])
    session = cleaned["session"]
    if session == photo_forms.BY_DATE:
        session = BY_DATE
    elif session:
        session = of_build(Session.objects, build, uuid=session)
    return {
        "strakes": list(strakes), "side": cleaned["side"], "caption": cleaned["caption"], "session": session or None,
        "stations": list(Station.objects.filter(build=build, uuid__in=cleaned["stations"]).order_by("position")),
        "series": of_build(PhotoSeries.objects, build, uuid=cleaned["series"]) if cleaned["series"] else None,
    }  # fmt: skip


@require_http_methods(["GET", "HEAD", "POST"])
def photo_detail(request, build_uuid, photo_uuid):
    """One photograph by itself: the picture, its words, and what it is marked with."""
    visit = build_to_record(request, build_uuid) if request.method == "POST" else build_to_read(request, build_uuid)
    photo = photo_of(visit, photo_uuid)
    if not visit.may_record:
        return _detail_page(request, visit, photo, None)
    if request.method != "POST":
        return _detail_page(request, visit, photo, _photo_form(visit, photo))
    form = _photo_form(visit, photo, request.POST)
    if not form.is_valid():
        return _detail_page(request, visit, photo, form)
    try:
        _save(request, visit, photo, form.cleaned_data)
    except Conflict as conflict:
        form.data = form.data.copy()
        form.data["version"] = conflict.theirs.version
        return _detail_page(request, visit, conflict.theirs, form, conflict=conflict, status=409)
    messages.success(request, _("Saved."))
    return redirect("photo-detail", visit.build.uuid, photo.uuid)


photo_detail.room = "log"


def photo_of(visit, photo_uuid):
    """Return a photograph of the build; one that was taken out is there only for those who may put it back."""
    photo = of_build(Photo.objects.select_related("build", "session", "series", "person"), visit.build, uuid=photo_uuid)
    if photo.taken_out_at and not visit.may_plan:
        raise Http404
    return photo


def _photo_form(visit, photo, data=None):
    found = marked(photo)
    offered = words_for(found, labels_of(visit.build), photo.caption)
    initial = {
        "version": photo.version, "caption": photo.caption, "alt": photo.alt or offered, "offered": offered,
        "strakes": [str(strake.uuid) for strake in found.strakes],
        "stations": [str(station.uuid) for station in found.stations], "side": found.side,
        "session": str(photo.session.uuid) if photo.session else "",
        "series": str(photo.series.uuid) if photo.series else "",
    }  # fmt: skip
    choices = _choices(visit, standing=photo.session, side=[found.side] if found.side else [])
    return photo_forms.PhotoForm(data, initial=initial, **choices)


def _save(request, visit, photo, cleaned):
    """Words for those who cannot see it are made from the marks unless somebody wrote others."""
    alt = "" if cleaned["alt"] == cleaned["offered"] else cleaned["alt"]
    edit_photo(
        photo, cleaned["version"], **_chosen(visit, cleaned), alt=alt, person=visit.person, now=request.now
    )


def _detail_page(request, visit, photo, form, conflict=None, status=200):
    found, labels = marked(photo), labels_of(visit.build)
    before, after = neighbours_of(photo)
    chosen = form["strakes"].value() or [] if form else []
    return render(request, "photos/detail.html", {
        "visit": visit, "photo": photo, "form": form, "conflict": conflict, "taken": taken_at(photo),
        "in_file": moment_of(photo.taken_in_file),
        "strakes": [labels[strake.pk] for strake in found.strakes if strake.pk in labels],
        "stations": found.stations, "words": photo.alt or words_for(found, labels, photo.caption),
        "likely": photo_choices.likely_strakes(visit, chosen=chosen) if form else set(),
        "before": before, "after": after,
    }, status=status)  # fmt: skip


@require_safe
def serve_photo(request, build_uuid, photo_uuid, size):
    """Answer with one rendition; the original, which holds the place and the camera's number, only to the
    owner.
    """
    visit = build_to_read(request, build_uuid)
    if size == _ORIGINAL:
        visit = build_to_own(request, build_uuid)
    photo = of_build(Photo.objects, visit.build, uuid=photo_uuid)
    if photo.taken_out_at and not visit.may_plan:
        raise Http404
    return (
        original_response(request, photo) if size == _ORIGINAL else rendition_response(request, photo, size)
    )


def rendition_response(request, photo, size):
    """Answer with a rendition of a photograph that the asker may see; 404 where it is not ready."""
    rendition = photo.renditions.filter(size=size).first() if size in PhotoRendition.Size else None
    if rendition is None or photo.state != Photo.State.READY:
        raise Http404
    if _has_it(request, rendition.sha256):
        return _guarded(HttpResponseNotModified(), rendition.sha256)
    with _opened(rendition.key) as file:
        response = HttpResponse(file.read(), content_type="image/jpeg")
    response["Content-Disposition"] = f'inline; filename="{photo.uuid}-{size}.jpg"'
    return _guarded(response, rendition.sha256)


def original_response(request, photo):
    """Answer with the file as it was sent, in small pieces because it may be large."""
    if _has_it(request, photo.sha256):
        return _guarded(HttpResponseNotModified(), photo.sha256)
    name = f"{photo.uuid}.{SUFFIXES[kind_of_type(photo.media_type)]}"
    file = _opened(store.key_of(photo.sha256))
    response = FileResponse(file, content_type=photo.media_type, filename=name, as_attachment=True)
    return _guarded(response, photo.sha256)


def _has_it(request, sha256):
    return f'"{sha256}"' in request.headers.get("If-None-Match", "")


def _opened(key):
    try:
        return store.path_of(key).open("rb")
    except FileNotFoundError:
        raise Http404 from None


def _guarded(response, sha256):
    """Let nothing in a picture be run, read by another site, or kept by a cache that serves other people."""
    response["Content-Security-Policy"] = "default-src 'none'; sandbox"
    response["Cross-Origin-Resource-Policy"] = "same-origin"
    response["X-Content-Type-Options"] = "nosniff"
    # The browser may keep it but asks each time, so a right that was taken back ends at once.
    response["Cache-Control"] = "private, no-cache"
    response["ETag"] = f'"{sha256}"'
    return response


@require_POST
def photo_take_out(request, build_uuid, photo_uuid):
    visit = build_to_plan(request, build_uuid)
    photo = of_build(Photo.objects.select_related("build"), visit.build, uuid=photo_uuid)
    take_out_photo(photo, person=visit.person, now=request.now)
    messages.success(request, _("The photograph is taken out. It is kept, and can be put back."))
    return redirect("photo-detail", visit.build.uuid, photo.uuid)


@require_POST
def photo_put_back(request, build_uuid, photo_uuid):
    visit = build_to_plan(request, build_uuid)
    photo = of_build(Photo.objects.select_related("build"), visit.build, uuid=photo_uuid)
    put_back_photo(photo, person=visit.person, now=request.now)
    messages.success(request, _("The photograph is back in the log."))
    return redirect("photo-detail", visit.build.uuid, photo.uuid)


@require_POST
def photo_share(request, build_uuid, photo_uuid):
    """Show one photograph to the club, or hide it again: ``shared`` says which."""
    visit = build_to_own(request, build_uuid)
    photo = of_build(Photo.objects.select_related("build", "session"), visit.build, uuid=photo_uuid)
    wanted = request.POST.get("shared") == "yes"
    share(visit.build, sessions={}, photos={photo: wanted}, person=visit.person, now=request.now)
    messages.success(request, _said_of_sharing(photo, wanted))
    return redirect("photo-detail", visit.build.uuid, photo.uuid)


def _said_of_sharing(photo, wanted) -> str:
    if not wanted:
        return _("The photograph is hidden from the club.")
    if photo.session and not photo.session.shared:
        return _("The photograph is shared; the club sees it as soon as its session is shared too.")
    return _("The photograph is shown to the club.")
