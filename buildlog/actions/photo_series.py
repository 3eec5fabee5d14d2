"""Series of photographs from one and the same place."""

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from buildlog.models import Photo, PhotoSeries

from .conflict import NotPossible
from .events import tell_event
from .sessions import session_for


def begin_series(build, *, name, person, now):
    """Name a new series; a name that stands already is not possible twice."""
    try:
        with transaction.atomic():
            series = PhotoSeries.objects.create(build=build, name=name, made_at=now)
            tell_event("began", series, build=build, now=now, person=person, after={"name": name})
    except IntegrityError:
        sentence = _("A series with the name “%(name)s” stands already.") % {"name": name}
        raise NotPossible(sentence, field="name") from None
    return series


def rename_series(series, *, name, person, now):
    if name == series.name:
        return
    try:
        with transaction.atomic():
            PhotoSeries.objects.filter(pk=series.pk).update(name=name)
            tell_event("renamed", series, build=series.build, now=now, person=person,
                       before={"name": series.name}, after={"name": name})  # fmt: skip
    except IntegrityError:
        sentence = _("A series with the name “%(name)s” stands already.") % {"name": name}
        raise NotPossible(sentence, field="name") from None


def add_to_series(photo, series, *, local, person, now):
    """Put a photograph into a series; one whose file tells no time was taken just now, at ``local`` bench time."""
    with transaction.atomic():
        held = Photo.objects.select_for_update(no_key=True).get(pk=photo.pk)
        held.series = series
        held.taken_local = held.taken_local or local
        if held.session is None:
            held.session = session_for(series.build, person=person, now=now)
        held.save(update_fields=["series", "taken_local", "session"])
        tell_event("edited", held, build=series.build, now=now, person=person, after={"series": str(series.uuid)})
