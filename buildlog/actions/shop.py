"""The shop's rows: added, edited as they were seen, and trials taken back."""

from django.db import IntegrityError, transaction
from django.db.models import F
from django.utils.translation import gettext as _

from buildlog.models import CautionSeen, Plank, TestJoint, TestStrip

from .conflict import Conflict, NotPossible
from .events import raise_serials_of_build, tell_event


def add_row(model, build, *, person, now, **fields):
    """Add a wood lot, a purchase or a supply. A second lot of one name is a Conflict."""
    try:
        with transaction.atomic():
            row = model.objects.create(build=build, **fields)
            tell_event("added", row, build=build, now=now, person=person)
    except IntegrityError:
        raise Conflict(_("There is one of this name already.")) from None
    return row


def edit_row(row, version, *, person, now, **changes):
    """Change a row that still stands as ``version``; a newer one is a Conflict that carries it."""
    try:
        with transaction.atomic():
            before = {name: str(getattr(row, name)) for name in changes}
            if not type(row).objects.filter(pk=row.pk, version=version).update(version=F("version") + 1, **changes):
                theirs = type(row).objects.get(pk=row.pk)
                raise Conflict(_("Somebody changed this while you wrote."), theirs=theirs)
            row.refresh_from_db()
            after = {name: str(getattr(row, name)) for name in changes}
            tell_event("edited", row, build=row.build, now=now, person=person, before=before, after=after)
    except IntegrityError:
        raise Conflict(_("There is one of this name already.")) from None
    return row


def record_strip(build, *, person, now, happened_at=None, **fields):
    """Keep how far a strip could be bent."""
    return _record(TestStrip, build, person=person, now=now, happened_at=happened_at, **fields)


def record_joint(build, *, person, now, happened_at=None, **fields):
    """Keep what a trial joint tells of the seam; every opening is weighed anew by it."""
    with transaction.atomic():
        joint = _record(TestJoint, build, person=person, now=now, happened_at=happened_at, **fields)
        raise_serials_of_build(build)
    return joint


def _record(model, build, *, person, now, happened_at, **fields):
    with transaction.atomic():
        row = model.objects.create(
            build=build, person=person, happened_at=happened_at or now, known_at=now, received_at=now, **fields
        )
        tell_event("recorded", row, build=build, now=now, person=person)
    return row


def withdraw_trial(row, *, person, now):
    """Take a trial back. It stays in the log and counts no more from now on."""
    with transaction.atomic():
        if not type(row).objects.filter(pk=row.pk, withdrawn_at=None).update(withdrawn_at=now):
            raise NotPossible(_("This was taken back already."))
        raise_serials_of_build(row.build)
        tell_event("taken back", row, build=row.build, now=now, person=person)


def set_lot(strake, lot, *, person, now):
    """Say which wood the planks in place of a strake are of."""
    with transaction.atomic():
        if not Plank.objects.filter(strake=strake, state__in=Plank.IN_PLACE).update(lot=lot):
            raise NotPossible(_("No plank of this strake is in place."), field="strake")
        after = {"lot": lot.name if lot else ""}
        tell_event("wood", strake, build=strake.opening.build, now=now, person=person, after=after)


def see_caution(account, key, *, now):
    """Keep that an account has read a caution."""
    CautionSeen.objects.get_or_create(account=account, key=key, defaults={"at": now})
