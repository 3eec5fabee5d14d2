"""Setting which faces the figures of an opening were taken on."""

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from buildlog.models import Opening

from .conflict import Conflict
from .events import raise_serial, tell_event


def set_faces(opening, *, girth_taken, widths_taken, seen, person, now):
    """Write both settings where nobody has changed the opening since it was ``seen``; else a Conflict."""
    with transaction.atomic():
        told = {"girth_taken": girth_taken, "widths_taken": widths_taken}
        before = {name: getattr(opening, name) for name in told}
        rows = Opening.objects.filter(pk=opening.pk, version=seen)
        if not rows.update(version=F("version") + 1, **told):
            raise Conflict(_("Somebody else changed this a moment ago; what stands now is shown."))
        raise_serial(opening)
        if before != told:
            tell_event("set faces", opening, build=opening.build, now=now, person=person, before=before, after=told)
