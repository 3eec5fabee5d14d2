"""The shop as it stands: wood and where it went, what was paid, supplies by age, trials, humidity."""

from collections import defaultdict
from dataclasses import dataclass, field

from buildlog.models import Lot, Plank, PlanStrake, Supply, TestJoint, TestStrip

# A supply open for longer than this is named when it is seen; what it is good for is the label's to say.
OLD_AFTER_MONTHS = 12


@dataclass
class WoodLot:
    lot: Lot
    strakes: list = field(default_factory=list)


@dataclass(frozen=True)
class OpenSupply:
    supply: Supply
    months: int | None

    @property
    def is_old(self) -> bool:
        return self.months is not None and self.months >= OLD_AFTER_MONTHS


@dataclass(frozen=True)
class Total:
    """What was paid in one currency, in hundredths; ``unpriced`` purchases have no price written down."""

    currency: str
    cents: int
    count: int


def wood_lots(build) -> list[WoodLot]:
    """Return the lots with the strakes whose planks in place are of them, keel side first."""
    planks = Plank.objects.filter(lot__build=build, state__in=Plank.IN_PLACE)
    used = defaultdict(set)
    for lot, strake in planks.values_list("lot_id", "strake_id"):
        used[lot].add(strake)
    newest = {}
    plans = PlanStrake.objects.filter(strake__in=set().union(*used.values()), revision__number__isnull=False)
    for plan in plans.select_related("opening", "strake").order_by("revision__number"):
        newest[plan.strake_id] = plan
    found = []
    for lot in build.lots.all():
        plans = [newest[pk] for pk in used[lot.pk] if pk in newest]
        found.append(WoodLot(lot, sorted(plans, key=lambda plan: (plan.opening.side, plan.position))))
    return found


def totals_paid(build) -> list[Total]:
    """Return the running total of each currency; purchases without a price are not in it."""
    cents, counts = defaultdict(int), defaultdict(int)
    for currency, price in build.purchases.filter(price_cents__isnull=False).values_list("currency", "price_cents"):
        cents[currency] += price
        counts[currency] += 1
    return [Total(currency, cents[currency], counts[currency]) for currency in sorted(cents)]


def supplies_of(build, today) -> list[OpenSupply]:
    rows = build.supplies.order_by("name", "pk")
    return [OpenSupply(row, _months(row.opened_on, today) if row.opened_on else None) for row in rows]


def _months(since, today) -> int:
    """Whole months from one date to another."""
    return (today.year - since.year) * 12 + today.month - since.month - (today.day < since.day)


def strips_of(build) -> list[TestStrip]:
    """Return the strips bent as trials, the tightest of each wood first."""
    return list(build.test_strips.filter(withdrawn_at=None).order_by("species", "radius_nm", "pk"))


def standing_joints(build, as_of=None) -> list[TestJoint]:
    """Return the trial joints that count, now or as they were known at a moment."""
    joints = build.test_joints.order_by("happened_at", "pk")
    if as_of is None:
        return list(joints.filter(withdrawn_at=None))
    return [one for one in joints.filter(known_at__lte=as_of) if one.withdrawn_at is None or one.withdrawn_at > as_of]


def humidity_of(build, most=12) -> list:
    """Return the last sessions in which humidity was read, newest first."""
    rows = build.sessions.filter(humidity_percent__isnull=False)
    return list(rows.order_by("-local_date", "-pk").only("local_date", "humidity_percent")[:most])
