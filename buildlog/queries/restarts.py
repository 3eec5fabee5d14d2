"""Where the work was left: what a builder who comes back after a long break asks first."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta

from buildlog.models import CardPrint, PlanRevision, Session

from .clocks import last_entry_of
from .instruments import InstrumentState, instruments_of
from .plans import counted
from .shop import humidity_of, supplies_of
from .writings import open_worries

# After so many days without a session Bench opens with where the work was left.
LONG_BREAK = timedelta(days=30)


@dataclass(frozen=True)
class ToolLeft:
    """A tool that is looked at before the next cut. ``again``: its last check lies before the break."""

    row: InstrumentState
    checked_at: datetime | None
    again: bool


@dataclass
class LeftOff:
    """All that stands on the page; an empty list or None is a line left out."""

    session: Session
    days: int
    last_by_opening: list = field(default_factory=list)
    words: list = field(default_factory=list)
    revisions: list = field(default_factory=list)
    old_cards: list = field(default_factory=list)
    instruments: list[ToolLeft] = field(default_factory=list)
    worries: list = field(default_factory=list)
    supplies: list = field(default_factory=list)
    # The sessions in which it was read last: the latest, and the one before a break that came between.
    humidity: Session | None = None
    humidity_before: Session | None = None


def last_session(build) -> Session | None:
    return build.sessions.select_related("by").first()


def was_long_ago(session, now) -> bool:
    return session is not None and now - last_entry_of(session) >= LONG_BREAK


def left_off(hull, session, now) -> LeftOff:
    """Return where the work of a build was left, from its last session on."""
    build, today = hull.build, now.date()
    humid = humidity_of(build, most=2)
    words = [one for one in build.sessions.select_related("by")[:3] if one.next_note]
    return LeftOff(
        session=session, days=(today - session.local_date).days, last_by_opening=_last_by_opening(hull),
        words=words, revisions=_revisions(build), old_cards=_old_cards(build),
        instruments=_tools_left(build, session, now), worries=open_worries(build),
        supplies=[one for one in supplies_of(build, today) if one.is_old or one.supply.low],
        humidity=humid[0] if humid else None, humidity_before=_before_break(humid),
    )  # fmt: skip


def _before_break(humid) -> Session | None:
    """Return the older of two sessions where a long break lies between them: the wood has moved since."""
    if len(humid) < 2 or humid[0].local_date - humid[1].local_date < LONG_BREAK:
        return None
    return humid[1]


def _tools_left(build, session, now) -> list[ToolLeft]:
    """After a long break every tool with jaws is shut and read before it is trusted: a check of before is told."""
    rested = (now.date() - session.local_date) >= LONG_BREAK
    found = []
    for row in instruments_of(build):
        if row.instrument.has_jaws or row.state != "sound":
            checks = [event.happened_at for event in row.epoch.events.all() if event.offset_nm is not None]
            checked_at = max(checks, default=None)
            again = bool(rested and checked_at and now - checked_at >= LONG_BREAK)
            found.append(ToolLeft(row, checked_at, again))
    return found


def _last_by_opening(hull) -> list:
    """Return each opening with its strake that was hung last and how many are left, stealers not counted."""
    found = []
    for opening in hull.openings_here():
        rows = hull.strakes.get(opening.pk, [])
        hung = sorted((s for s in rows if s.is_hung and s.state.hung_at), key=lambda s: s.state.hung_at)
        found.append((opening, hung[-1] if hung else None, sum(not s.is_hung for s in counted(rows))))
    return found


def _old_cards(build) -> list[CardPrint]:
    """Return the printed cards that are void and were not yet thrown away."""
    rows = CardPrint.objects.filter(
        plan_strake__revision__build=build, voided_at__isnull=False, thrown_away_at__isnull=True
    )
    return list(rows.select_related("plan_strake__opening", "plan_strake__revision").order_by("-printed_at"))


def _revisions(build) -> list[PlanRevision]:
    """Return the revisions put in force since the oldest card that may still lie in a drawer was printed."""
    first = (
        CardPrint.objects.filter(plan_strake__revision__build=build, thrown_away_at__isnull=True)
        .order_by("printed_at").values_list("printed_at", flat=True).first()
    )  # fmt: skip
    if first is None:
        return []
    return list(PlanRevision.objects.filter(build=build, in_force_from__gt=first).order_by("number"))

