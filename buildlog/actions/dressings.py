"""An edge dressed after it was measured, told and taken back."""

from django.db import transaction
from django.utils.translation import gettext as _

from buildlog.models import EdgeDressed

from .conflict import NotPossible
from .events import raise_serial, tell_event


def dress_edge(strake, *, from_station, to_station, note, person, now, happened_at=None, known_at=None):
    """Keep that an edge of a strake was dressed from a station to a station; its widths there are less sure."""
    with transaction.atomic():
        dressed = EdgeDressed.objects.create(
            strake=strake, from_station=from_station, to_station=to_station, note=note, person=person,
            happened_at=happened_at or now, known_at=min(known_at or now, now), received_at=now,
        )  # fmt: skip
        raise_serial(strake.opening)
        tell_event("edge dressed", strake, build=strake.opening.build, now=now, person=person,
                   after={"from": from_station.name, "to": to_station.name, "note": note})  # fmt: skip
    return dressed


def withdraw_dressing(dressed, *, person, now):
    """Take back a dressing that never was. It stays, and counts as of the dates before."""
    with transaction.atomic():
        standing = EdgeDressed.objects.filter(pk=dressed.pk, withdrawn_at=None)
        if not standing.update(withdrawn_at=now, withdrawn_by=person):
            raise NotPossible(_("This was taken back already."))
        raise_serial(dressed.strake.opening)
        tell_event("dressing taken back", dressed.strake, build=dressed.strake.opening.build, now=now, person=person)
