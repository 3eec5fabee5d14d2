"""Undo: the last thing a person recorded in their session is taken back, by amendment and by a step back."""

from django.db import transaction
from django.utils.translation import gettext as _

from buildlog.models import Amendment, Plank
from buildlog.queries.last_things import UNDONE, standing_steps

from .conflict import NotPossible
from .events import raise_serial, tell_event
from .planks import take_step
from .readings import amend_reading


def undo_thing(thing, *, person, now):
    """Withdraw the readings of a thing and move its planks back to what they were before it."""
    if thing is None:
        raise NotPossible(_("Nothing of yours is left to undo in this session."))
    with transaction.atomic():
        for reading in thing.readings:
            amend_reading(reading, act=Amendment.Act.WITHDRAWS, reason=UNDONE, person=person, now=now)
        for step in thing.steps:
            step_back(step, person=person, now=now)
    return thing


def step_back(step, *, person, now, reason=UNDONE):
    """Move a plank back to what it was before its last step; with no step before, it is out of the hull."""
    plank = step.plank
    before = standing_steps(plank.steps.order_by("pk"))[:-1]
    state = before[-1].state if before else Plank.State.TAKEN_OFF
    if plank.measured == Plank.Measured.NOT_MEASURED:
        plank.measured = Plank.Measured.MEASURED
        plank.save(update_fields=["measured"])
    take_step(plank, state, person=person, now=now, session=step.session, reason=reason)
    raise_serial(plank.strake.opening)
    tell_event("stepped back", plank, build=plank.strake.opening.build, now=now, person=person,
               before={"state": step.state}, after={"state": state, "reason": reason})  # fmt: skip
