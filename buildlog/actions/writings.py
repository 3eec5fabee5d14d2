"""Tips, mishaps and worries, written in today's session; worries closed with a reason."""

import uuid
from datetime import timedelta

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from buildlog.models import Mishap, Tip, Worry

from .conflict import Conflict
from .events import tell_event
from .sessions import session_for

# A page that gives its words no name was tapped twice where the same words come again so soon.
DOUBLE_TAP = timedelta(seconds=60)
MODELS = {"mishap": Mishap, "tip": Tip, "worry": Worry}


def write_down(
    build, kind, *, text, strake=None, operation="", person, now, happened_at=None, client_uuid=None
):
    """Write words of one kind in today's session; what is sent again under its name is not written twice."""
    at = happened_at or now
    with transaction.atomic():
        side = strake.opening.side if strake else ""
        session = session_for(build, person=person, now=now, side=side, happened_at=happened_at)
        same = _sent_before(kind, session, client_uuid, at, text=text, strake=strake, person=person)
        if same:
            return same
        fields = {"session": session, "strake": strake, "person": person, "text": text, "written_at": at}
        fields |= {"operation": operation} if kind == "tip" else {}
        row = _written(MODELS[kind], client_uuid, fields)
        tell_event("written", row, build=build, now=now, person=person)
    return row


def _sent_before(kind, session, client_uuid, at, **words):
    """Return the row of the same words under the same name; without a name, of the same words of just now."""
    rows = MODELS[kind].objects.filter(**words)
    if client_uuid:
        return rows.filter(uuid=client_uuid, session__build=session.build).first()
    return rows.filter(session=session, written_at__range=(at - DOUBLE_TAP, at + DOUBLE_TAP)).first()


def _written(model, client_uuid, fields):
    """Write a row under the name it came with. Other words under a name that is taken are not lost for it."""
    try:
        with transaction.atomic():
            return model.objects.create(uuid=client_uuid or uuid.uuid4(), **fields)
    except IntegrityError:
        return model.objects.create(**fields)


def close_worry(worry, *, reason, person, now):
    """Close a worry with how it ended. Somebody else's closing first is a Conflict that carries it."""
    with transaction.atomic():
        if not Worry.objects.filter(pk=worry.pk, closed_at=None).update(closed_at=now, closed_reason=reason):
            raise Conflict(_("This worry was closed already."), theirs=Worry.objects.get(pk=worry.pk))
        tell_event("closed", worry, build=worry.session.build, now=now, person=person, after={"reason": reason})
