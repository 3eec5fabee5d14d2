"""How a photograph is shown: turned, cut, with arrows and numbers over it. The original is never touched."""

from django.db import transaction
from django.utils.translation import gettext as _

from buildlog.jobs.bell import bell
from buildlog.models import Photo

from .conflict import NotPossible
from .events import tell_event
from .jobs import queue_job

MOST_MARKS = 20
# A part smaller than this shows nothing that a larger one would not.
LEAST_PART = 0.05


def turn_photo(photo, degrees, *, person, now):
    """Turn what is shown clockwise by a quarter or more; the renditions are made anew."""
    with transaction.atomic():
        edits = _held(photo).edits
        turn = (edits.get("turn", 0) + degrees) % 360
        _show_as(photo, {**edits, "turn": turn}, person=person, now=now)


def crop_photo(photo, crop, *, person, now):
    """Show only a part: left, top, right, bottom in shares of the upright original."""
    left, top, right, bottom = crop
    if not (left >= 0 and right <= 1 and top >= 0 and bottom <= 1):
        raise NotPossible(_("That part reaches over the edge of the photograph."))
    if right - left < LEAST_PART or bottom - top < LEAST_PART:
        raise NotPossible(_("That part is too small: at least a twentieth of the photograph each way."))
    with transaction.atomic():
        _show_as(photo, {**_held(photo).edits, "crop": [round(x, 5) for x in crop]}, person=person, now=now)


def undo_edits(photo, *, person, now):
    """Show the photograph as it was sent. Its arrows and numbers stay; each may be taken off by itself."""
    with transaction.atomic():
        _held(photo)
        _show_as(photo, {}, person=person, now=now)


def add_mark(photo, *, kind, place, to, text, person, now):
    """Draw one number, arrow or ring; places in shares of the upright original. Numbers count on."""
    with transaction.atomic():
        drawn = _held(photo).drawn
        if len(drawn) >= MOST_MARKS:
            raise NotPossible(_("Twenty marks are the most for one photograph; take one off first."))
        n = max([mark["n"] for mark in drawn], default=0) + 1
        mark = {
            "kind": kind, "n": n, "text": text,
            "x": round(place[0], 5), "y": round(place[1], 5), "to_x": round(to[0], 5), "to_y": round(to[1], 5),
        }  # fmt: skip
        _draw(photo, [*drawn, mark], person=person, now=now)


def change_marks(photo, *, texts, taken_off, person, now):
    """Give marks other words, and take some off; the rest are counted anew from one."""
    with transaction.atomic():
        before = _held(photo).drawn
        left = [{**mark, "text": texts.get(mark["n"], mark.get("text", ""))} for mark in before]
        left = [mark for mark in left if mark["n"] not in taken_off]
        after = [{**mark, "n": n} for n, mark in enumerate(left, 1)]
        if after != before:
            _draw(photo, after, person=person, now=now)


def _held(photo) -> Photo:
    """Return the row as it stands, held until the transaction ends, so that two edits do not undo one another."""
    return Photo.objects.select_for_update(no_key=True).get(pk=photo.pk)


def _show_as(photo, edits, *, person, now):
    """Lay down how it is shown; nobody is shown the old renditions, which may hold what was just cut off."""
    kept = {name: value for name, value in edits.items() if value and value != [0, 0, 1, 1]}
    before = Photo.objects.get(pk=photo.pk)
    if before.edits == kept or before.state == Photo.State.REFUSED:
        return
    Photo.objects.filter(pk=photo.pk).update(edits=kept, state=Photo.State.RECEIVED)
    told = {"before": {"edits": before.edits}, "after": {"edits": kept}}
    tell_event("edited", photo, build=photo.build, now=now, person=person, **told)
    queue_job("photo", build=photo.build, now=now, photo=str(photo.uuid))
    transaction.on_commit(bell.set)
    photo.refresh_from_db()


def _draw(photo, drawn, *, person, now):
    told = {"before": {"drawn": photo.drawn}, "after": {"drawn": drawn}}
    Photo.objects.filter(pk=photo.pk).update(drawn=drawn)
    tell_event("edited", photo, build=photo.build, now=now, person=person, **told)
    photo.refresh_from_db()
