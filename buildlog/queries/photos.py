"""Photographs as pages and the sweep ask for them."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Count, Q
from django.utils.translation import gettext as _

from buildlog.models import Event, Photo, PhotoChange, PhotoMark, PhotoRendition
from buildlog.photos import store

A_PAGE = 60
# A slate is held up at the start of one evening's work.
SLATE_HOLDS = timedelta(hours=4)
UNDO_STANDS = timedelta(days=7)
# Whoever sent it was told that it was received, and may have no other copy.
REFUSED_ORIGINAL_STAYS = timedelta(days=30)


def is_key_named(key: str, *, now: datetime) -> bool:
    """Say whether any row names this file. The original of a refused photograph is kept for thirty days, and for ever
    where it was shown before.
    """
    if not key.startswith(f"{store.ORIGINALS}/"):
        return PhotoRendition.objects.filter(key=key).exists()
    photos = Photo.objects.filter(sha256=key.rpartition("/")[2])
    if photos.exclude(state=Photo.State.REFUSED).exists() or photos.filter(renditions__isnull=False).exists():
        return True
    refusals = Event.objects.filter(verb="refused", noun="photo", uuid__in=photos.values("uuid"))
    return refusals.filter(at__gt=now - REFUSED_ORIGINAL_STAYS).exists()


def photos_of(build, show: str = "all"):
    """Return photographs, newest first: ``all``, the ``tray`` of those without a label, or those taken ``out``."""
    photos = Photo.objects.filter(build=build).select_related("session", "series").prefetch_related("marks")
    photos = photos.exclude(state=Photo.State.REFUSED).order_by("-taken_local", "-received_at", "-pk")
    if show == "out":
        return photos.filter(taken_out_at__isnull=False)
    photos = photos.filter(taken_out_at__isnull=True)
    return photos.filter(_in_tray()) if show == "tray" else photos


def newest_photo(build) -> Photo | None:
    """Return the newest photograph that is ready to be shown, a slate left aside."""
    return photos_of(build).filter(state=Photo.State.READY, is_slate=False).first()


def _in_tray():
    marked = PhotoMark.objects.filter(Q(strake__isnull=False) | Q(station__isnull=False)).values("photo")
    return Q(caption="", is_slate=False) & ~Q(pk__in=marked)


def tray_count(build) -> int:
    return photos_of(build, "tray").order_by().count()


def neighbours_of(photo) -> tuple:
    """Return the photograph before and the one after it, oldest first, or None at the ends."""
    uuids = list(photos_of(photo.build).values_list("uuid", flat=True))
    if photo.uuid not in uuids:
        return None, None
    at = uuids.index(photo.uuid)
    return (uuids[at + 1] if at + 1 < len(uuids) else None), (uuids[at - 1] if at else None)


def same_picture(build, sha256: str):
    """Return the photograph of this very file that stands in the log already, or None."""
    kept = Photo.objects.filter(build=build, sha256=sha256, taken_out_at__isnull=True)
    return kept.exclude(state=Photo.State.REFUSED).order_by("pk").first()


def cameras_of(build) -> list[tuple[str, int]]:
    """Return the kinds of camera by how many photographs each took; only those whose files tell a time."""
    rows = Photo.objects.filter(build=build, taken_out_at__isnull=True).exclude(taken_local="").exclude(camera="")
    return list(rows.order_by().values_list("camera").annotate(count=Count("pk")).order_by("-count", "camera"))


def taken_at(photo) -> datetime | None:
    """Return the bench time of a photograph, without a zone, or None where its file tells none."""
    return moment_of(photo.taken_local)


def moment_of(text: str) -> datetime | None:
    try:
        return datetime.fromisoformat(text) if text else None
    except ValueError:
        return None


def after_slate(slate) -> list:
    """Return what one camera took after its slate: until its next slate, and no longer than four hours."""
    start = taken_at(slate)
    if start is None:
        return []
    end = (start + SLATE_HOLDS).isoformat()
    same = Photo.objects.filter(build=slate.build, camera=slate.camera, taken_out_at__isnull=True)
    same = same.exclude(pk=slate.pk).exclude(state=Photo.State.REFUSED)
    if not slate.camera:
        # A file that names no camera is at least of the same person.
        same = same.filter(person=slate.person)
    later = same.filter(taken_local__gte=slate.taken_local, taken_local__lte=end)
    later = later.exclude(taken_local=slate.taken_local, pk__lt=slate.pk).order_by("taken_local", "pk")
    found = []
    for photo in later.select_related("session").prefetch_related("marks"):
        if photo.is_slate:
            break
        found.append(photo)
    return found


def last_change(build, person, now) -> PhotoChange | None:
    """Return what this person did last to many photographs at once, while it may still be taken back."""
    if person is None:
        return None
    change = PhotoChange.objects.filter(build=build, person=person, at__gte=now - UNDO_STANDS).first()
    return change if change and change.undone_at is None else None


@dataclass(frozen=True)
class Marked:
    """What a photograph is marked with: strakes, stations forward to aft, and the side where no strake says it."""

    strakes: tuple
    stations: tuple
    side: str


def marked(photo) -> Marked:
    rows = photo.marks.select_related("strake__opening", "station").order_by("pk")
    strakes = tuple(dict.fromkeys(row.strake for row in rows if row.strake))
    stations = sorted({row.station for row in rows if row.station}, key=lambda station: station.position)
    side = next((row.side for row in rows if row.side and not row.strake), "")
    return Marked(strakes, tuple(stations), side)


def words_for(found: Marked, labels: dict, caption: str = "") -> str:
    """Say what a photograph shows from its marks: "port strake 12, station M to D, clamped"."""
    words = [_strake_words(side, names) for side, names in _by_side(found, labels).items()]
    if not found.strakes and found.side:
        words.append(_("port side") if found.side == "port" else _("starboard side"))
    if found.stations:
        first, last = found.stations[0].name, found.stations[-1].name
        place = {"first": first, "last": last}
        words.append(_("station %(first)s") % place if first == last else _("station %(first)s to %(last)s") % place)
    if caption.strip():
        words.append(caption.strip())
    return ", ".join(words)[:300]


def _by_side(found: Marked, labels: dict) -> dict[str, list[str]]:
    sides: dict[str, list[str]] = {}
    for strake in found.strakes:
        side, label = labels.get(strake.pk, (strake.opening.side, ""))
        sides.setdefault(side, []).append(label)
    return sides


def _strake_words(side: str, names: list[str]) -> str:
    told = {"names": ", ".join(names)}
    if side == "port":
        return (_("port strake %(names)s") if len(names) == 1 else _("port strakes %(names)s")) % told
    return (_("starboard strake %(names)s") if len(names) == 1 else _("starboard strakes %(names)s")) % told
