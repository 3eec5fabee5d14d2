"""What is done to many photographs at once: labelled, sorted by a slate, their camera's clock put right. Each is one
change that may be taken back as a whole.
"""

import zoneinfo
from datetime import datetime, timedelta

from django.db import models, transaction
from django.utils.translation import gettext as _

from buildlog.models import Photo, PhotoChange, PhotoMark, PhotoSeries, Plank, Session, Station, Strake
from buildlog.queries.log import labels_of
from buildlog.queries.photos import marked, taken_at, words_for

from .conflict import Conflict, NotPossible
from .events import tell_event
from .sessions import start_session

Kind = PhotoChange.Kind
# A session to be found, or begun, by each photograph's own date.
BY_DATE = "by date"
LEAST_YEAR, MOST_YEAR = 1990, 2200
_TOLD = {Kind.LABEL: "labelled", Kind.SLATE: "sorted", Kind.CLOCK: "clock put right"}


def label_photos(
    build, photos, *, strakes=(), stations=(), side="", session=None, caption="", series=None, person, now
):
    """Give all these photographs the same marks and words; what is not given stays as it is on each."""
    labels, begun = labels_of(build), []

    def label(photo):
        said = words_for(marked(photo), labels, photo.caption)
        _mark_over(photo, strakes, stations, side)
        if session == BY_DATE:
            _into_session_of_date(photo, begun, person, now)
        elif session:
            photo.session = session
        photo.series = series or photo.series
        photo.caption = caption or photo.caption
        _word(photo, labels, said)

    return _change(build, Kind.LABEL, photos, label, begun, person=person, now=now)


def sort_by_slate(slate, photos, *, session, strake, person, now):
    """Let a slate say where it and the photographs after it belong; a strake marked by hand stays."""
    labels = labels_of(slate.build)

    def sort(photo):
        photo.session = session or photo.session
        photo.is_slate = photo.is_slate or photo.pk == slate.pk
        if strake and not marked(photo).strakes:
            said = words_for(marked(photo), labels, photo.caption)
            _mark_over(photo, [strake], (), "")
            _word(photo, labels, said)

    return _change(slate.build, Kind.SLATE, [slate, *photos], sort, [], person=person, now=now)


def shift_clock(build, photos, *, minutes, person, now):
    """Put right the times of photographs whose camera's clock was late (minutes to add) or early (to take off).

    A photograph whose date changes by it goes to the session of its right date.
    """
    begun = []

    def shift(photo):
        was = taken_at(photo)
        if was is None:
            return
        right = shifted(was, minutes)
        photo.taken_in_file = photo.taken_in_file or photo.taken_local
        photo.taken_local = right.isoformat()
        if photo.taken_local == photo.taken_in_file:
            photo.taken_in_file = ""
        if right.date() != was.date():
            _into_session_of_date(photo, begun, person, now)

    return _change(build, Kind.CLOCK, photos, shift, begun, person=person, now=now)


def shifted(was: datetime, minutes: int) -> datetime:
    """Return the right time, or refuse one that no photograph was taken at."""
    try:
        right = was + timedelta(minutes=minutes)
    except OverflowError:
        right = None
    if right is None or not LEAST_YEAR <= right.year <= MOST_YEAR:
        sentence = _("That would set the clock to before %(least)d or after %(most)d.")
        raise NotPossible(sentence % {"least": LEAST_YEAR, "most": MOST_YEAR}, field="hours")
    return right


def edit_photo(photo, version, *, strakes, stations, side, session, caption, alt, series, person, now):
    """Write one photograph's marks and words; a newer version of it is a Conflict that carries it."""
    with transaction.atomic():
        held = Photo.objects.select_for_update(no_key=True).get(pk=photo.pk)
        if held.version != version:
            raise Conflict(_("Somebody changed this photograph while you wrote."), theirs=held)
        before = _state(held)
        _set_marks(held, strakes, stations, side)
        held.session, held.caption, held.series = session, caption, series
        held.alt = alt or words_for(marked(held), labels_of(held.build), caption)
        _save(held)
        old, new = _differences(before, _state(held))
        if new:
            tell_event("edited", held, build=held.build, now=now, person=person, before=old, after=new)
    return held


def undo_change(change, *, person, now) -> int:
    """Take a change back. Return how many photographs were changed again since and stay as they are."""
    with transaction.atomic():
        standing = PhotoChange.objects.filter(pk=change.pk, undone_at=None)
        if not standing.update(undone_at=now):
            raise NotPossible(_("That was taken back already."))
        stayed = 0
        for photo in _held(change.build, list(change.before)):
            stayed += _put_back(photo, change, person, now)
        for uuid in change.after.get("sessions", []):
            _end_empty_session(change.build, uuid)
    return stayed


def _change(build, kind, photos, do, begun, *, person, now):
    before, after = {}, {}
    with transaction.atomic():
        for photo in _held(build, [each.uuid for each in photos]):
            was = _state(photo)
            do(photo)
            _save(photo)
            old, new = _differences(was, _state(photo))
            if new:
                before[str(photo.uuid)], after[str(photo.uuid)] = old, new
                tell_event(_TOLD[kind], photo, build=build, now=now, person=person, before=old, after=new)
        if not before:
            return None
        after["sessions"] = [str(session.uuid) for session in begun]
        return PhotoChange.objects.create(build=build, person=person, kind=kind, at=now, before=before, after=after)


def _held(build, uuids):
    photos = Photo.objects.select_for_update(no_key=True, of=("self",)).filter(build=build, uuid__in=uuids)
    return photos.select_related("session", "series", "build").order_by("taken_local", "pk")


def _state(photo) -> dict:
    """Return what may change of a photograph, by the names that outlive a backup."""
    rows = photo.marks.order_by("pk").values_list("strake__uuid", "plank__uuid", "station__uuid", "side")
    return {
        "session": str(photo.session.uuid) if photo.session else None,
        "series": str(photo.series.uuid) if photo.series else None,
        "caption": photo.caption, "alt": photo.alt, "is_slate": photo.is_slate,
        "taken_local": photo.taken_local, "taken_in_file": photo.taken_in_file,
        "marks": [[str(value) if value else "" for value in row] for row in rows],
    }  # fmt: skip


def _differences(was: dict, now: dict) -> tuple[dict, dict]:
    names = [name for name in was if was[name] != now[name]]
    return {name: was[name] for name in names}, {name: now[name] for name in names}


def _save(photo):
    photo.version = models.F("version") + 1
    fields = ("session", "series", "caption", "alt", "is_slate", "taken_local", "taken_in_file", "version")
    photo.save(update_fields=fields)
    photo.refresh_from_db(fields=["version"])


def _mark_over(photo, strakes, stations, side):
    """Lay new marks over those that stand: new strakes put out old ones, stations stay unless new ones are given."""
    if strakes or stations or side:
        found = marked(photo)
        _set_marks(photo, strakes or found.strakes, stations or found.stations, side or found.side)


def _set_marks(photo, strakes, stations, side):
    planks = {row.strake_id: row.plank for row in photo.marks.select_related("plank") if row.plank}
    photo.marks.all().delete()
    rows = [
        PhotoMark(photo=photo, strake=strake, plank=planks.get(strake.pk), station=at, side=strake.opening.side)
        for strake in strakes
        for at in (stations or [None])
    ]
    if not strakes and (stations or side):
        rows = [PhotoMark(photo=photo, station=station, side=side) for station in (stations or [None])]
    PhotoMark.objects.bulk_create(rows)


def _word(photo, labels, said):
    """Renew the words for those who cannot see it, unless somebody wrote others than ``said`` before."""
    if photo.alt in ("", said):
        photo.alt = words_for(marked(photo), labels, photo.caption)


def _into_session_of_date(photo, begun, person, now):
    """Find the session of the day a photograph was taken on, its own person's first; begin one where there is none."""
    taken = taken_at(photo)
    if taken is None or (photo.session and photo.session.local_date == taken.date()):
        return
    by = photo.person or person
    of_day = photo.build.sessions.filter(local_date=taken.date()).order_by("opened_at")
    session = of_day.filter(by=by).first() or of_day.first()
    if session is None:
        opened = taken.replace(tzinfo=zoneinfo.ZoneInfo(photo.build.time_zone))
        session = start_session(photo.build, person=by, now=now, local_date=taken.date(), happened_at=opened)
        begun.append(session)
    photo.session = session


def _put_back(photo, change, person, now) -> bool:
    """Put back what the change changed. Return True where something else was written over it since; that stays."""
    stands, uuid = _state(photo), str(photo.uuid)
    wanted = {
        name: value for name, value in change.before[uuid].items() if stands[name] == change.after[uuid].get(name)
    }
    for name in {"caption", "alt", "is_slate", "taken_local", "taken_in_file"} & wanted.keys():
        setattr(photo, name, wanted[name])
    if "session" in wanted:
        photo.session = Session.objects.filter(build=photo.build, uuid=wanted["session"]).first()
    if "series" in wanted:
        photo.series = PhotoSeries.objects.filter(build=photo.build, uuid=wanted["series"]).first()
    if "marks" in wanted:
        _restore_marks(photo, wanted["marks"])
    _save(photo)
    old, new = _differences(stands, _state(photo))
    if new:
        tell_event("put back", photo, build=photo.build, now=now, person=person, before=old, after=new)
    return len(wanted) < len(change.before[uuid])


def _restore_marks(photo, marks):
    photo.marks.all().delete()
    for strake, plank, station, side in marks:
        PhotoMark.objects.create(
            photo=photo, side=side,
            strake=Strake.objects.filter(uuid=strake, opening__build=photo.build).first() if strake else None,
            plank=Plank.objects.filter(uuid=plank, strake__opening__build=photo.build).first() if plank else None,
            station=Station.objects.filter(uuid=station, build=photo.build).first() if station else None,
        )  # fmt: skip


def _end_empty_session(build, uuid):
    """Take away a session that was begun for the change, unless something else stands in it by now."""
    session = Session.objects.filter(build=build, uuid=uuid, note="", next_note="", minutes=None).first()
    if session is None:
        return
    try:
        with transaction.atomic():
            session.delete()
    except models.ProtectedError:
        return
