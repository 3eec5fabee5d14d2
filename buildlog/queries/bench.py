"""What the bench says and offers of the strake in hand."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from buildlog.models import NM_PER_MM, Plank, PlanStrake, Reading

from .cut_cards import NEWS_NM
from .next_strake import fronts

HELD = (Plank.State.CUTTING, Plank.State.CUT, Plank.State.DRY_FITTED)


@dataclass(frozen=True)
class Choice:
    """A strake one tap away. ``is_front`` marks what a run would hang next."""

    opening: object
    strake: object
    is_front: bool


def strakes_to_choose(hull) -> list[Choice]:
    """Return the strakes that do not hang yet, opening by opening, those at the front of a run first."""
    found = []
    for opening in hull.openings_here():
        rows = hull.strakes[opening.pk]
        front = {s.plan.pk for s in fronts(rows).values()}
        free = [s for s in rows if not s.is_hung]
        for strake in sorted(reversed(free), key=lambda s: s.plan.pk not in front):
            found.append(Choice(opening, strake, strake.plan.pk in front))
    return found


def last_hung(hull):
    """Return the opening and strake that was hung last, or None."""
    rows = [
        (s.state.hung_at, s.plan.pk, o, s)
        for o in hull.openings
        for s in hull.strakes.get(o.pk, [])
        if s.is_hung and s.state.hung_at and s.state.measured != "before_log"
    ]
    return max(rows, key=lambda row: row[:2])[2:] if rows else None


def is_measured(strake) -> bool:
    """Return whether the plank in hand was measured: what comes next then is to hang it."""
    widths = Reading.objects.filter(
        strake=strake, kind=Reading.Kind.WIDTH, damp=Reading.Damp.DRY, value_nm__isnull=False, amendment__isnull=True
    )
    return widths.filter(plank__state__in=HELD).exists()


def widths_to_say(card, review) -> dict:
    """Return what the bench says of widths, at one station: what to set, what it was before, what the gap leaves.

    What comes out shared or by the gap is compared with ``plan``, never with what is set: the habit is off that.
    """
    line = card.dead_flat if card else None
    if line is None:
        return {}
    return {
        "set": _mm(line.set_nm), "plan": _mm(line.makes_nm), "makes": _mm(line.makes_nm) if line.is_less_habit else "",
        "at": _at(line.station), "was": _mm(line.was_nm) if line.was_nm else "",
        "by_gap": _by_the_gap(card, line, review), "shared": _shared_out(card, line, review),
    }  # fmt: skip


def _by_the_gap(card, line, review) -> str:
    """The closing strake is made to the gap: what the readings leave for it, once it is the last."""
    if card.plan.run != PlanStrake.Run.CLOSING or review is None:
        return ""
    at = next((one for one in review.stations if one.station == line.station.name), None)
    if at is None or at.room_mm is None or at.left != (card.label,):
        return ""
    return _mm(at.room_mm * NM_PER_MM)


def _shared_out(card, line, review) -> str:
    """What this strake would be if the shortage were shared, where that is asked for and is news."""
    if review is None or not review.new_widths_offered or review.verdict not in ("spread_it", "change_plan"):
        return ""
    at = next((one for one in review.stations if one.station == line.station.name), None)
    new = next((one for one in at.even if one.strake == card.label), None) if at else None
    if new is None or abs(new.even_mm * NM_PER_MM - line.makes_nm) <= NEWS_NM:
        return ""
    return _mm(new.even_mm * NM_PER_MM)


def _mm(value_nm) -> str:
    return f"{value_nm / NM_PER_MM:.2f}".replace("-", "−")


def _at(station) -> str:
    return _("dead flat") if station.is_dead_flat else station.name
