"""The recut of one station before and after, as its picture is told it."""

from itertools import pairwise

from django.utils.translation import gettext as _

from buildlog.measuring.offers import LEAVE
from buildlog.models import NM_PER_MM
from buildlog.pictures.drawing import three_cuts
from buildlog.pictures.recut_steps import RecutStrake, recut_steps, step_off_plan

CUTS = (328, 720, 1178)


def recut_steps_of(found, offers, mode, name=""):
    """Return (station, picture, sentence) of the way chosen, at the station asked for, else at the worst; or None."""
    by_mode = {offer.mode: offer for offer in offers}
    chosen, alone = by_mode.get(mode), by_mode.get(LEAVE)
    if chosen is None or alone is None or mode == LEAVE or not chosen.widths:
        return None
    station = next((at for at in chosen.widths if at.name == name), None)
    station = station or (alone.step.station if alone.step else next(iter(chosen.widths)))
    strakes = _strakes(found, chosen, alone, station)
    if not strakes:
        return None
    summary = _summary(strakes, station)
    return station, three_cuts([recut_steps(strakes, width, summary=summary) for width in CUTS]), summary


def _strakes(found, chosen, alone, station) -> list[RecutStrake]:
    here, left = chosen.widths[station], alone.widths[station]
    was = next(share.was for share in found.shares if share.station == station)
    made = {
        found.labels[pk]: RecutStrake(found.labels[pk], *(nm / NM_PER_MM for nm in (was[pk], here[pk], left[pk])))
        for pk in here
        if was.get(pk) and here[pk] > 0 and left.get(pk, 0) > 0
    }
    beside = {
        label: RecutStrake(label, planned, hung, hung, hangs=True)
        for label, (planned, hung) in chosen.beside.get(station, {}).items()
    }
    order = [label for label in chosen.order if label in made or label in beside]
    return [made.get(label) or beside[label] for label in reversed(order)]


def _summary(strakes, station) -> str:
    pairs = list(pairwise(strakes))
    place = _("dead flat") if station.is_dead_flat else station.name
    now = max((step_off_plan(a, b) for a, b in pairs), default=0.0)
    alone = max((step_off_plan(a, b, alone=True) for a, b in pairs), default=0.0)
    return _("At %(at)s the largest step off the plan is %(now)s recut, %(alone)s left alone.") % {
        "at": place, "now": f"{now:.2f}", "alone": f"{alone:.2f}",
    }  # fmt: skip
