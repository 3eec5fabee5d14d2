"""Who changed what and when; and the serial that tells stored reviews they are of the past."""

from django.db.models import F

from buildlog.models import Event, Opening


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


def raise_serial(*openings):
    """Let every stored review of these openings be of the past."""
    pks = {opening.pk for opening in openings if opening is not None}
    Opening.objects.filter(pk__in=pks).update(serial=F("serial") + 1)


def raise_serials_of_build(build):
    Opening.objects.filter(build=build).update(serial=F("serial") + 1)
