"""How a photograph is shown: turned, cut, with arrows and numbers. The original is never touched."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from buildlog.access import build_to_record
from buildlog.actions.conflict import NotPossible
from buildlog.actions.photo_edits import add_mark, change_marks, crop_photo, turn_photo, undo_edits
from buildlog.forms.photo_edits import TEXT_LENGTH, CropForm, MarkForm
from buildlog.models.photo_edits import original_place, shown_marks

from .photos import photo_of

# The picture that is tapped without a script is shown so large on every screen, since a tap comes in its pixels.
TAPPED = 280
_QUARTERS = ("90", "180", "270")


@require_POST
def photo_turn(request, build_uuid, photo_uuid):
    visit = build_to_record(request, build_uuid)
    photo = photo_of(visit, photo_uuid)
    degrees = request.POST.get("degrees", "")
    if degrees in _QUARTERS:
        turn_photo(photo, int(degrees), person=visit.person, now=request.now)
    return redirect("photo-detail", visit.build.uuid, photo.uuid)


@require_POST
def photo_as_sent(request, build_uuid, photo_uuid):
    """Undo every cut and turn at once."""
    visit = build_to_record(request, build_uuid)
    photo = photo_of(visit, photo_uuid)
    undo_edits(photo, person=visit.person, now=request.now)
    messages.success(request, _("The photograph is shown as it was sent."))
    return redirect("photo-detail", visit.build.uuid, photo.uuid)


@require_http_methods(["GET", "HEAD", "POST"])
def photo_crop(request, build_uuid, photo_uuid):
    """Cut to a part: drawn on the picture with the finger, or typed in hundredths."""
    visit = build_to_record(request, build_uuid)
    photo = photo_of(visit, photo_uuid)
    if request.method != "POST":
        form = CropForm(initial={"left": 0, "top": 0, "right": 100, "bottom": 100})
        return _crop_page(request, visit, photo, form)
    form = CropForm(request.POST)
    if form.is_valid():
        part = [form.cleaned_data[name] / 100 for name in ("left", "top", "right", "bottom")]
        try:
            crop_photo(photo, _in_original(photo, part), person=visit.person, now=request.now)
            return redirect("photo-detail", visit.build.uuid, photo.uuid)
        except NotPossible as refused:
            form.add_error(None, refused.sentence)
    return _crop_page(request, visit, photo, form)


photo_crop.room = "log"


def _in_original(photo, part) -> list[float]:
    """Return a part of what is shown as a part of the upright original."""
    corners = [original_place(photo.edits, part[0], part[1]), original_place(photo.edits, part[2], part[3])]
    across, down = zip(*corners, strict=True)
    return [min(across), min(down), max(across), max(down)]


def _crop_page(request, visit, photo, form):
    return render(request, "photo_edits/crop.html", {"visit": visit, "photo": photo, "form": form})


@require_http_methods(["GET", "HEAD", "POST"])
def photo_marks(request, build_uuid, photo_uuid):
    """Numbers, arrows and rings: one tap on the thing draws one; words and taking off stand below."""
    visit = build_to_record(request, build_uuid)
    photo = photo_of(visit, photo_uuid)
    if request.method != "POST":
        return _marks_page(request, visit, photo, MarkForm(initial={"kind": "number"}))
    form = MarkForm(request.POST)
    if not form.is_valid():
        return _marks_page(request, visit, photo, form)
    try:
        _change(request, visit, photo, form)
    except NotPossible as refused:
        form.add_error(None, refused.sentence)
        return _marks_page(request, visit, photo, form)
    return redirect("photo-marks", visit.build.uuid, photo.uuid)


photo_marks.room = "log"


def _change(request, visit, photo, form):
    told = {"person": visit.person, "now": request.now}
    texts = {
        mark["n"]: " ".join(request.POST[f"text_{mark['n']}"].split())[:TEXT_LENGTH]
        for mark in photo.drawn if f"text_{mark['n']}" in request.POST
    }  # fmt: skip
    taken_off = {mark["n"] for mark in photo.drawn if str(mark["n"]) in request.POST.getlist("take_off")}
    if texts or taken_off:
        change_marks(photo, texts=texts, taken_off=taken_off, **told)
    to = _tapped(request, photo, form.cleaned_data)
    if to:
        given = form.cleaned_data["x"], form.cleaned_data["y"]
        place = given if None not in given else beside(*to)
        add_mark(
            photo, kind=form.cleaned_data["kind"], text=form.cleaned_data["text"].strip(),
            place=original_place(photo.edits, *place), to=original_place(photo.edits, *to), **told,
        )  # fmt: skip


def _tapped(request, photo, cleaned):
    """Return where the thing is in shares of what is shown: from the script, or from a tap on the picture itself."""
    if cleaned["to_x"] is not None and cleaned["to_y"] is not None:
        return cleaned["to_x"], cleaned["to_y"]
    width, height = tapped_size(photo)
    try:
        x, y = int(request.POST["at.x"]) / width, int(request.POST["at.y"]) / height
    except (KeyError, ValueError):
        return None
    if x == y == 0:
        # Enter in the field of words presses the picture at no place of it.
        return None
    return min(1.0, max(0.0, x)), min(1.0, max(0.0, y))


def tapped_size(photo) -> tuple[int, int]:
    """Return how large the picture that is tapped is shown, in pixels."""
    width, height = photo.width or TAPPED, photo.height or TAPPED
    return TAPPED, max(1, round(TAPPED * height / width))


def beside(x: float, y: float) -> tuple[float, float]:
    """Return where the disc of a thing stands by itself: toward the middle, so that it is never cut off."""
    return (x + 0.14 if x < 0.5 else x - 0.14), (y + 0.12 if y < 0.5 else y - 0.12)


def _marks_page(request, visit, photo, form):
    width, height = tapped_size(photo)
    return render(request, "photo_edits/marks.html", {
        "visit": visit, "photo": photo, "form": form, "wide": width, "tall": height,
        "hidden": len(photo.drawn) - len(shown_marks(photo.edits, photo.drawn)),
    })  # fmt: skip
