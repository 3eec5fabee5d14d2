"""Who changed what and when; and the serial that tells stored reviews they are of the past."""

from django.db import connection
from django.db.models import F

from buildlog.models import Build, Event, Opening


def tell_event(verb, row, *, build, now, person=None, account=None, before=None, after=None):
    """Write one line of the history of a build."""
    return Event.objects.create(
        build=build,
        at=now,
        person=person,
        account=account,
        verb=verb,
        noun=row._meta.model_name,
        uuid=getattr(row, "uuid", None),
        before=before or {},
        after=after or {},
    )


def hold_build(build):
    """Let others who change the plan of this build wait until this transaction ends. Held before its openings.

    The key itself is not held: whoever hangs a strake has its opening, and writes rows that name the build.
    """
    Build.objects.select_for_update(no_key=True).get(pk=build.pk)


def hold_opening(opening):
    """Let others who change what hangs in this opening wait until this transaction ends."""
    # A transaction of SQLite has the whole log to itself from its first moment on.
    if connection.features.has_select_for_update:
        Opening.objects.select_for_update(no_key=True).get(pk=opening.pk)


def raise_serial(*openings):
    """Let every stored review of these openings be of the past."""
    pks = {opening.pk for opening in openings if opening is not None}
    Opening.objects.filter(pk__in=pks).update(serial=F("serial") + 1)


def raise_serials_of_build(build):
    Opening.objects.filter(build=build).update(serial=F("serial") + 1)
