"""Photographs handed out, one by one, to whoever may see their build. No folder of them is ever served."""

from django.http import FileResponse, Http404, HttpResponse, HttpResponseNotModified
from django.views.decorators.http import require_safe

from buildlog.access import build_to_own, build_to_read, of_build
from buildlog.models import Photo, PhotoRendition
from buildlog.photos import store
from buildlog.photos.kinds import SUFFIXES, kind_of_type

_ORIGINAL = "original"


@require_safe
def serve_photo(request, build_uuid, photo_uuid, size):
    """Answer with one rendition; the original, which holds the place and the camera's number, only to the
    owner.
    """
    visit = build_to_read(request, build_uuid)
    if size == _ORIGINAL:
        visit = build_to_own(request, build_uuid)
    photo = of_build(Photo.objects, visit.build, uuid=photo_uuid)
    if photo.taken_out_at and not visit.may_own:
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
