"""The last thing a person recorded in a session: what *Last* says and *Undo* takes back."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import groupby

from django.db.models import Exists, OuterRef
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from buildlog.models import Plank, PlankStep, PlanStrake, Reading

# The reason that a step back is kept with; it is read again from the rows, so it is not translated.
UNDONE = "undone"

# Figures that were asked about come in with a second Done; so long after the first it is still one entry.
ONE_ENTRY = timedelta(minutes=10)
# An evening goes on past midnight, and what was recorded before it is still the last thing.
ONE_EVENING = timedelta(hours=6)
# How many of the latest readings are looked through: first these, and where all of them are of the entry, those.
SOME, MOST = 30, 200


@dataclass(frozen=True)
class LastThing:
    """One deed: the readings and steps that came in together. ``token`` names it, so that it is undone once."""

    at: datetime
    side: str
    label: str
    words: str
    readings: list = field(default_factory=list)
    steps: list = field(default_factory=list)

    @property
    def token(self) -> str:
        return self.at.isoformat()


def session_of_this_evening(build, person, now):
    """Return the newest session in which a person recorded anything within the last hours, or None."""
    if person is None:
        return None
    told = {"session": OuterRef("pk"), "person": person, "received_at__gte": now - ONE_EVENING}
    recorded = Exists(Reading.objects.filter(**told)) | Exists(PlankStep.objects.filter(**told))
    return build.sessions.filter(recorded, by=person).order_by("-local_date", "-opened_at").first()


def last_thing(build, person, session) -> LastThing | None:
    """Return the last deed of a person in a session that still stands, or None."""
    if session is None or person is None:
        return None
    readings = _last_readings(session, person)
    steps = _last_steps(session, person)
    at = max([row.received_at for row in (*readings[:1], *steps[:1])], default=None)
    if at is None:
        return None
    readings = [row for row in readings if not steps or row.received_at >= steps[0].received_at]
    came_in = {row.received_at for row in readings} or {at}
    return _told(at, readings, [row for row in steps if row.received_at in came_in])


def _last_readings(session, person) -> list[Reading]:
    """Return the readings of the last entry, latest first."""
    rows = Reading.objects.filter(session=session, person=person, amendment__isnull=True, amends__isnull=True)
    rows = rows.select_related("opening", "strake", "station").order_by("-received_at", "-pk")
    # Few entries are longer than the first slice; one that fills it may go on behind it.
    few = _entry_at_the_head(rows[:SOME])
    return few if len(few) < SOME else _entry_at_the_head(rows[:MOST])


def _entry_at_the_head(rows) -> list[Reading]:
    found: list[Reading] = []
    for _at, post in groupby(rows, key=lambda row: row.received_at):
        post = list(post)
        if found and not _is_of_the_entry(post, found):
            break
        found += post
    return found


def _is_of_the_entry(post, found) -> bool:
    """An entry is of one strake or gap; a station read once more a moment later is the next entry."""
    row, last = post[0], found[-1]
    if (row.kind, row.opening_id, row.strake_id, row.stage) != (last.kind, last.opening_id, last.strake_id, last.stage):
        return False
    seen = {reading.station_id for reading in found}
    return last.received_at - row.received_at <= ONE_ENTRY and not seen & {one.station_id for one in post}


def _last_steps(session, person) -> list[PlankStep]:
    """Return the steps of the last deed among planks, without those that were taken back."""
    planks = PlankStep.objects.filter(session=session, person=person).values("plank")
    by_plank: dict[int, list[PlankStep]] = {}
    steps = PlankStep.objects.filter(plank__in=planks).select_related("plank__strake__opening", "session")
    for step in steps.order_by("pk"):
        by_plank.setdefault(step.plank_id, []).append(step)
    stacks = [standing_steps(steps) for steps in by_plank.values()]
    tops = [stack[-1] for stack in stacks if stack]
    mine = [step for step in tops if step.session_id == session.pk and step.person_id == person.pk]
    last = max((step.received_at for step in mine), default=None)
    return [step for step in mine if step.received_at == last]


def standing_steps(steps) -> list[PlankStep]:
    """Return a plank's steps without those taken back: each step back takes the one before it along."""
    stack: list[PlankStep] = []
    for step in steps:
        if step.reason != UNDONE:
            stack.append(step)
        elif stack:
            stack.pop()
    return stack


def _told(at, readings, steps) -> LastThing:
    strake = steps[0].plank.strake if steps else readings[0].strake
    opening = strake.opening if strake else readings[0].opening
    plan = PlanStrake.objects.filter(strake=strake, revision__number__isnull=False).order_by(
        "-revision__number"
    )
    label = next((one.label for one in plan[:1]), "") if strake else ""
    return LastThing(at, opening.side, label, _words(readings, steps), readings, steps)


def _words(readings, steps) -> str:
    said = []
    if readings:
        said.append(_readings_in_words(readings))
    if steps:
        said.append(step_in_words(steps[0]))
    return ", ".join(said)


def _readings_in_words(readings) -> str:
    count = sum(row.value_nm is not None for row in readings)
    words = {
        Reading.Kind.GAP: ngettext("%(count)d gap", "%(count)d gaps", count),
        Reading.Kind.GIRTH: ngettext("%(count)d girth", "%(count)d girths", count),
        Reading.Kind.EDGE: ngettext("%(count)d edge", "%(count)d edges", count),
        Reading.Kind.THICKNESS: ngettext("%(count)d thickness", "%(count)d thicknesses", count),
    }.get(readings[0].kind, ngettext("%(count)d width", "%(count)d widths", count))
    return words % {"count": count}


def step_in_words(step) -> str:
    if step.state == Plank.State.HUNG and step.plank.measured == Plank.Measured.NOT_MEASURED:
        return _("hung, not measured")
    return {
        Plank.State.CUTTING: _("being cut"), Plank.State.CUT: _("cut"), Plank.State.DRY_FITTED: _("dry-fitted"),
        Plank.State.HUNG: _("hung"), Plank.State.SPOILED: _("spoiled"), Plank.State.TAKEN_OFF: _("taken off"),
    }[step.state]  # fmt: skip
