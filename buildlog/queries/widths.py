"""What the entry of widths needs to know, and the one sentence said when it is saved."""

import math
from dataclasses import dataclass
from functools import cached_property

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from buildlog.models import NM_PER_MM, Instrument, PlanStrake, PlanWidth, Reading

from .readings import counting_widths

# Fewer widths than this tell nothing of a builder's spread.
LEAST_FOR_A_SPREAD = 10
SPREADS = 3
# Inside this share of the width nobody is asked, however steady they are: it is the change an eye sees (4 %).
NEVER_ASKED = 0.04
# Under this a difference is noise of the caliper and is said as "within plan".
NOISE_NM = 30_000


@dataclass(frozen=True)
class Spread:
    """How a builder's widths lie about the plan: their mean and standard deviation, in nm."""

    mean_nm: float
    deviation_nm: float

    @property
    def usual_nm(self) -> int:
        return round(abs(self.mean_nm) + SPREADS * self.deviation_nm)

    def is_odd(self, off_nm: int, expected_nm: int) -> bool:
        if abs(off_nm) <= NEVER_ASKED * expected_nm:
            return False
        return abs(off_nm - self.mean_nm) > SPREADS * self.deviation_nm


class SpreadWhenAsked:
    """A person's own spread, read from the log only once a width lies far enough off to be asked about."""

    def __init__(self, opening, person):
        self.opening, self.person = opening, person

    def is_odd(self, off_nm: int, expected_nm: int) -> bool:
        if abs(off_nm) <= NEVER_ASKED * expected_nm or self._spread is None:
            return False
        return self._spread.is_odd(off_nm, expected_nm)

    @property
    def usual_nm(self) -> int:
        return self._spread.usual_nm if self._spread else 0

    @cached_property
    def _spread(self) -> Spread | None:
        return own_spread(self.opening, self.person)


def own_spread(opening, person) -> Spread | None:
    """Return the spread of a person's own counting widths in an opening, or None while there are too few."""
    rows = [row for row in counting_widths(opening).values() if row.reading.person_id == person.pk]
    if len(rows) < LEAST_FOR_A_SPREAD:
        return None
    planned = planned_widths(rows)
    offs = [
        row.value_nm - planned[row.reading.strake_id, row.reading.station_id]
        for row in rows
        if (row.reading.strake_id, row.reading.station_id) in planned
    ]
    if len(offs) < LEAST_FOR_A_SPREAD:
        return None
    mean = sum(offs) / len(offs)
    return Spread(mean, math.sqrt(sum((off - mean) ** 2 for off in offs) / (len(offs) - 1)))


def planned_widths(rows) -> dict[tuple[int, int], int]:
    """Return the width each counting reading is judged by: of the revision its plank was cut to, else in
    force.
    """
    strakes = {row.reading.strake_id for row in rows}
    cut_to = {row.reading.strake_id: row.reading.plank.revision_id for row in rows if row.reading.plank}
    planned, in_force = {}, {}
    widths = PlanWidth.objects.filter(
        plan_strake__strake__in=strakes, plan_strake__revision__number__isnull=False
    ).values_list(
        "plan_strake__strake_id",
        "station_id",
        "width_nm",
        "plan_strake__revision_id",
        "plan_strake__revision__state",
    )
    for strake, station, width, revision, state in widths:
        if cut_to.get(strake) == revision:
            planned[strake, station] = width
        if state == "in_force":
            in_force[strake, station] = width
    return in_force | planned


def instruments_in_hand(build) -> list[Instrument]:
    """Return the instruments a width can be read with."""
    kinds = [
        Instrument.Kind.CALIPER,
        Instrument.Kind.MICROMETER,
        Instrument.Kind.RULE,
        Instrument.Kind.DIVIDERS,
    ]
    return list(build.instruments.filter(retired_at__isnull=True, kind__in=kinds).order_by("pk"))


def instrument_last_used(build, person, instruments, kind="width") -> Instrument | None:
    """Return the instrument this person read with last, else their own, else the first."""
    last = (
        Reading.objects.filter(build=build, person=person, kind=kind, instrument__in=instruments)
        .order_by("-received_at", "-pk")
        .values_list("instrument_id", flat=True)
        .first()
    )
    own = [one for one in instruments if one.owner_id == person.pk]
    return next((one for one in instruments if one.pk == last), None) or next(iter(own or instruments), None)


def same_on_other_side(strake, revision) -> str:
    """Return what a station left out is marked with where its pair across the keel was measured: "as on port 9"."""
    opening = strake.opening
    pairs = PlanStrake.objects.filter(
        revision=revision, label__in=PlanStrake.objects.filter(revision=revision, strake=strake).values("label"),
        opening__layer=opening.layer, opening__position=opening.position,
    ).exclude(opening__side=opening.side)  # fmt: skip
    read = Reading.objects.filter(kind=Reading.Kind.WIDTH, value_nm__isnull=False).values("strake")
    pair = pairs.filter(strake__in=read).select_related("opening").first()
    return _("as on %(side)s %(label)s") % {"side": _(pair.opening.side), "label": pair.label} if pair else ""


def widths_in_words(offs: dict[str, int]) -> str:
    """Return one sentence about the widths of a strake, from station name to how far off the plan, in nm."""
    if not offs:
        return ""
    wide = {name: off for name, off in offs.items() if off >= NOISE_NM}
    narrow = {name: off for name, off in offs.items() if off <= -NOISE_NM}
    if not wide and not narrow:
        return _("Within plan.")
    parts = [_way(_("wide"), wide, offs), _way(_("narrow"), narrow, offs)]
    sentence = _(" and ").join(part for part in parts if part)
    return f"{sentence[:1].upper()}{sentence[1:]}."


def _way(word, some, all_of_them) -> str:
    if not some:
        return ""
    worst = max(some, key=lambda name: abs(some[name]))
    amount = {"way": word, "amount": f"{abs(some[worst]) / NM_PER_MM:.2f}", "at": _at(worst)}
    if len(some) == len(all_of_them) and len(some) > 1:
        return _("%(way)s at every station, most at %(at)s by %(amount)s") % amount
    if len(some) == 1:
        return _("%(way)s by %(amount)s at %(at)s") % amount
    return ngettext(
        "%(way)s at %(count)d station, most at %(at)s by %(amount)s",
        "%(way)s at %(count)d stations, most at %(at)s by %(amount)s",
        len(some),
    ) % (amount | {"count": len(some)})


def _at(name) -> str:
    return _("dead flat") if name in ("⊗", "DF") else name


# Two takes further apart than this ask for a third (for widths by caliper; common practice, no source).
TAKES_APART_NM = 100_000


def takes_apart(shown) -> list[dict]:
    """Return the stations where two standing takes of one stage disagree, with both figures."""
    standing: dict[tuple, list[Reading]] = {}
    for row in shown:
        earlier = not row.counts and row.reading.value_nm and row.is_earlier_take
        if row.reading.kind == Reading.Kind.WIDTH and (row.counts or earlier):
            standing.setdefault((row.reading.station_id, row.reading.stage), []).append(row.reading)
    found = []
    for takes in standing.values():
        low, high = min(takes, key=lambda r: r.value_nm), max(takes, key=lambda r: r.value_nm)
        if len(takes) == 2 and high.value_nm - low.value_nm > TAKES_APART_NM:
            found.append({"station": takes[0].station, "low": low, "high": high})
    return found
