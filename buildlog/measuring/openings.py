"""Rows -> the facts that planking reads: one opening as it is known, now or at a moment."""

from collections import defaultdict
from functools import cached_property
from statistics import fmean

from buildlog.models import (
    NM_PER_MM,
    Epoch,
    InstrumentEvent,
    Opening,
    PlanGirth,
    PlanOpening,
    PlanWidth,
    ZeroCorrection,
)
from buildlog.queries.instruments import zero_told
from buildlog.queries.plans import StrakeOfPlan, revision_in_force, strakes_of_opening
from buildlog.queries.readings import counting_readings
from planking import opening as facts

from .instruments import u_zero_mm, zero_checks_told
from .plan_belts import held_edges
from .shop import seam_of_shop

# Takes of one day at one station that agree this well are one reading, surer than each; others stand alone.
TAKES_AGREE_NM = 200_000
# What a stroke or two of the file may take off an edge after it was read (common practice, no source).
U_DRESSED_MM = 0.05


def mm(nm: int) -> float:
    return nm / NM_PER_MM


def facts_of(opening: Opening, as_of=None, revision=None, strakes=None, known=None) -> facts.Opening | None:
    """Return an opening as planking reads it, or None where no plan in force gives it widths.

    ``as_of`` shows what was known at a moment: every fact is taken by its ``known_at``. ``strakes`` are those of
    the revision, where the caller has read them for itself; ``known`` is what readings share, with all stations.
    """
    revision = revision or revision_in_force(opening.build, as_of)
    if strakes is None:
        strakes = strakes_of_opening(revision, opening, as_of) if revision else []
    if not any(strake.widths for strake in strakes):
        # A side whose gap is read later has strakes and no widths: there is nothing yet to judge it by.
        return None
    return _Facts(opening, revision, strakes, as_of, known).read()


class _Facts:
    """One reading of an opening's rows; lives as long as one call of ``facts_of``."""

    def __init__(self, opening, revision, strakes, as_of, known=None):
        self.opening, self.revision, self.strakes, self.as_of = opening, revision, strakes, as_of
        self.known = known or {}
        self.stations = list(self.known.get("station", {}).values() or opening.build.stations.order_by("position"))
        self.names = {station.pk: station.name for station in self.stations}
        self.labels = {s.plan.strake_id: s.label for s in strakes}
        self.epochs: dict[int, object] = {}

    def read(self) -> facts.Opening:
        plan = PlanOpening.objects.filter(revision=self.revision, opening=self.opening).first()
        used = {pk for s in self.strakes for pk in s.widths}
        stations = [s for s in self.stations if s.pk in used] or self.stations
        self.names = {station.pk: station.name for station in stations}
        seam_mm, u_seam_mm = self._seam(plan)
        self.counting = counting_readings(self.opening, self.as_of, self.known)
        widths, gaps, girths = self._widths(), self._gaps(), self._girths()
        return facts.Opening(
            side=self.opening.side,
            stations=tuple(
                facts.Station(s.name, mm(s.x_nm) if s.x_nm is not None else None) for s in stations
            ),
            strakes=tuple(self._strake(s) for s in self.strakes),
            girth_planned_mm=self._girths_planned(plan),
            planned_seam_mm=mm(plan.planned_seam_nm) if plan else 0.0,
            seam_mm=seam_mm,
            u_seam_mm=u_seam_mm,
            widths=tuple(widths),
            gaps=tuple(gaps),
            edges=tuple(held_edges(self.strakes, self.names, plan, self._ends())),
            girths=tuple(girths),
            epochs=tuple(self._epoch(epoch) for epoch in self.epochs.values()),
            zero_checks=tuple(self._zero_checks()),
            limits=self._limits(plan),
            keel_line_tight=self.opening.keel_edge == Opening.Edge.FIXED,
            wale_line_tight=self.opening.wale_edge == Opening.Edge.FIXED,
            dead_flat=next((s.name for s in stations if s.is_dead_flat), None),
        )

    # --- the plan ------------------------------------------------------------------------------------------

    def _strake(self, one: StrakeOfPlan) -> facts.Strake:
        planned = {self.names[pk]: mm(w.width_nm) for pk, w in one.widths.items() if pk in self.names}
        return facts.Strake(
            label=one.label,
            run=one.plan.run,
            planned_mm=planned,
            belt=one.plan.belt.name if one.plan.belt else None,
            cut_to_mm=self._cut_to.get(one.plan.strake_id),
            aim_mm=self._aim(one),
            state=self._state(one),
            hung_order=self._hung_order.get(one.plan.strake_id),
        )

    def _aim(self, one: StrakeOfPlan) -> dict[str, float] | None:
        """What the builder was told to set: without it the ledger would unlearn a habit that is taken off."""
        known = set(self.names.values())
        return {name: mm(nm) for name, nm in one.state.set_widths.items() if name in known} or None

    @staticmethod
    def _state(one: StrakeOfPlan) -> str:
        if one.is_hung:
            return "before_log" if one.state.measured == "before_log" else "hung"
        return "cut" if one.state.state in ("cut", "dry_fitted") else "open"

    @property
    def _hung_order(self) -> dict[int, int]:
        hung = [s for s in self.strakes if s.is_hung]
        hung.sort(key=lambda s: (s.state.hung_at, s.plan.position))
        return {s.plan.strake_id: order for order, s in enumerate(hung, start=1)}

    @property
    def _cut_to(self) -> dict[int, dict[str, float]]:
        """The widths of the revisions that planks were cut to, where these are not the one in force."""
        wanted = {
            s.plan.strake_id: s.state.revision_id
            for s in self.strakes
            if s.state.revision_id and s.state.revision_id != self.revision.pk
        }
        if not wanted:
            return {}
        if not hasattr(self, "_cut_to_found"):
            found: dict[int, dict[str, float]] = defaultdict(dict)
            rows = PlanWidth.objects.filter(
                plan_strake__strake__in=wanted, plan_strake__revision__in=set(wanted.values())
            ).values_list("plan_strake__strake_id", "plan_strake__revision_id", "station_id", "width_nm")
            for strake, revision, station, width in rows:
                if wanted[strake] == revision and station in self.names:
                    found[strake][self.names[station]] = mm(width)
            self._cut_to_found = dict(found)
        return self._cut_to_found

    def _girths_planned(self, plan) -> dict[str, float] | None:
        """What the plan was lined off on: new widths of later close on a gap, which speaks for itself."""
        rows = PlanGirth.objects.filter(plan_opening=plan) if plan else []
        found = {self.names[g.station_id]: mm(g.lined_off_nm or g.girth_nm) for g in rows if g.station_id in self.names}
        return found or None

    def _ends(self) -> tuple[bool, bool]:
        return self.opening.keel_edge == Opening.Edge.FIXED, self.opening.wale_edge == Opening.Edge.FIXED

    def _limits(self, plan) -> facts.Limits:
        stock = self.opening.stock_width_nm
        if plan is None:
            return facts.Limits(stock_width_mm=mm(stock) if stock else None)
        return facts.Limits(
            step_share=plan.step_permille / 1000,
            closing_share=plan.closing_permille / 1000,
            narrowest_share=plan.narrow_permille / 1000,
            widest_share=plan.wide_permille / 1000,
            stock_width_mm=mm(stock) if stock else None,
        )

    def _seam(self, plan) -> tuple[float, float]:
        """Return what a seam is thought to take: as the trial joints tell, else what the plan leaves for it.

        A plan made of a gap leaves nothing and its page says so; the doubt of a seam nobody measured stays.
        """
        told = seam_of_shop(self.opening.build, self.as_of)
        if told:
            return max(0.0, told.seam_mm), told.u_mm
        return (mm(plan.planned_seam_nm) if plan else 0.03), 0.03

    # --- the readings --------------------------------------------------------------------------------------

    def _widths(self):
        for (strake, station), counting in self.counting.widths.items():
            reading = counting.reading
            if strake not in self.labels or station not in self.names or reading.epoch_id is None:
                continue
            yield facts.WidthReading(
                strake=self.labels[strake],
                station=self.names[station],
                width_mm=mm(counting.value_nm),
                epoch=self._epoch_name(reading),
                u_mm=self._u_of_width(counting),
            )

    @staticmethod
    def _u_of_width(counting) -> float | None:
        """A width read before its edge was dressed is less sure by what a dressing may take off."""
        if counting.dressed:
            return (mm(counting.u_nm) ** 2 + U_DRESSED_MM**2) ** 0.5
        return mm(counting.u_nm)

    def _gaps(self):
        hung_at = {
            s.label: s.state.hung_at for s in self.strakes if s.is_hung and s.state.hung_at is not None
        }
        takes = defaultdict(list)
        for station, standing in self.counting.gaps.items():
            for reading in standing:
                if station in self.names:
                    takes[station, reading.happened_at.date()].append(reading)
        for (station, _day), readings in sorted(takes.items(), key=lambda item: item[1][0].happened_at):
            for group in agreeing_takes(readings):
                last = group[-1]
                yield facts.GapReading(
                    station=self.names[station],
                    gap_mm=fmean(mm(r.value_nm) for r in group),
                    hung=frozenset(label for label, at in hung_at.items() if at <= last.happened_at),
                    u_mm=u_mm_of(group),
                    epoch=self._epoch_name(last.reading) if last.method == "jaws" and last.epoch else None,
                )

    def _girths(self):
        for station, readings in self.counting.girths.items():
            if station in self.names:
                group = agreeing_takes(readings)[-1]
                yield facts.GirthReading(
                    station=self.names[station],
                    girth_mm=fmean(mm(r.value_nm) for r in group),
                    u_mm=u_mm_of(group),
                )

    def _epoch_name(self, reading) -> str:
        self.epochs[reading.epoch_id] = reading.epoch
        return _name_of(reading.epoch)

    # --- the instruments -----------------------------------------------------------------------------------

    def _epoch(self, epoch) -> facts.Epoch:
        zero = self._zero(epoch)
        return facts.Epoch(
            name=_name_of(epoch),
            instrument=epoch.instrument.name,
            u_reading_mm=mm(epoch.instrument.u_nm),
            u_zero_mm=u_zero_mm(epoch, zero),
            zero_offset_mm=mm(zero.correction.offset_nm) if zero.correction else 0.0,
            in_doubt=zero.is_in_doubt,
            ended=epoch.number < self._newest[epoch.instrument_id],
        )

    @cached_property
    def _newest(self) -> dict[int, int]:
        """The running epoch's number of every instrument in use: one before it was ended by setting anew."""
        instruments = {epoch.instrument_id for epoch in self.epochs.values()}
        rows = Epoch.objects.filter(instrument__in=instruments)
        rows = rows if self.as_of is None else rows.filter(starts_at__lte=self.as_of)
        return dict(rows.order_by("number").values_list("instrument", "number"))

    @cached_property
    def _corrections(self) -> dict[int, list]:
        return self._by_epoch(ZeroCorrection.objects.order_by("-known_at"))

    @cached_property
    def _events_by_epoch(self) -> dict[int, list]:
        return self._by_epoch(InstrumentEvent.objects.order_by("happened_at", "pk"))

    def _by_epoch(self, rows) -> dict[int, list]:
        """Return what is known of every epoch in use, in one query."""
        rows = rows.filter(epoch__in=self.epochs)
        found = defaultdict(list)
        for row in rows if self.as_of is None else rows.filter(known_at__lte=self.as_of):
            found[row.epoch_id].append(row)
        return found

    def _correction(self, epoch):
        known = self._corrections[epoch.pk]
        if self.as_of is None:
            return next((c for c in known if c.withdrawn_at is None), None)
        return next((c for c in known if c.withdrawn_at is None or c.withdrawn_at > self.as_of), None)

    def _zero(self, epoch):
        return zero_told(epoch.instrument, self._events_by_epoch[epoch.pk], self._correction(epoch))

    def _zero_checks(self):
        for epoch in self.epochs.values():
            yield from zero_checks_told(_name_of(epoch), self._zero(epoch))


def _name_of(epoch) -> str:
    return f"{epoch.instrument.name}, {epoch.number}"


def u_mm_of(group) -> float:
    """The standard doubt of takes that agree: that of the surest of them over the root of their number."""
    return min(mm(reading.u_nm) for reading in group) / len(group) ** 0.5


def agreeing_takes(readings) -> list[list]:
    """Return the takes as groups that agree; a take that does not stands alone, the latest last."""
    groups: list[list] = []
    for reading in sorted(readings, key=lambda r: (r.happened_at, r.reading.pk)):
        if groups and abs(groups[-1][0].value_nm - reading.value_nm) <= TAKES_AGREE_NM:
            groups[-1].append(reading)
        else:
            groups.append([reading])
    return groups
