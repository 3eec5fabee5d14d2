"""Tips, mishaps and worries, written in today's session; worries closed with a reason."""

from django.db import transaction
from django.utils.translation import gettext as _

from buildlog.models import Mishap, Tip, Worry

from .conflict import Conflict
from .events import tell_event
from .sessions import session_for

MODELS = {"mishap": Mishap, "tip": Tip, "worry": Worry}


def write_down(build, kind, *, text, strake=None, operation="", person, now, happened_at=None):
    """Write words of one kind in today's session; the same words sent again are not written twice."""
    with transaction.atomic():
        side = strake.opening.side if strake else ""
        session = session_for(build, person=person, now=now, side=side, happened_at=happened_at)
        same = MODELS[kind].objects.filter(session=session, text=text, strake=strake, person=person).first()
        if same:
            return same
        more = {"operation": operation} if kind == "tip" else {}
        row = MODELS[kind].objects.create(
            session=session, strake=strake, person=person, text=text, written_at=happened_at or now, **more
        )
        tell_event("written", row, build=build, now=now, person=person)
    return row


def close_worry(worry, *, reason, person, now):
    """Close a worry with how it ended. Somebody else's closing first is a Conflict that carries it."""
    with transaction.atomic():
        if not Worry.objects.filter(pk=worry.pk, closed_at=None).update(closed_at=now, closed_reason=reason):
            raise Conflict(_("This worry was closed already."), theirs=Worry.objects.get(pk=worry.pk))
        tell_event("closed", worry, build=worry.session.build, now=now, person=person, after={"reason": reason})
