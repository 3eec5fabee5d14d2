"""The four tables of a build as rows of cells: plan, girths, widths, gaps. Text is text, numbers are Figures.

Lengths are exact, to the nanometre, so whoever sums a column finds what the page says. Full size is rounded to
0.0001 in by running remainder, from the keel side on, so that it adds up as written too.
"""

import zoneinfo
from fractions import Fraction

from django.utils.translation import gettext as _

from buildlog.models import NM_PER_MM, Amendment, Opening, PlanOpening, PlanRevision, Reading

from .plans import openings_of, strakes_by_opening
from .readings import readings_of_opening
from .widths import planned_widths

KINDS = ("plan", "girths", "widths", "gaps")
READING_KIND = {"girths": Reading.Kind.GIRTH, "widths": Reading.Kind.WIDTH, "gaps": Reading.Kind.GAP}
_INCH_NM = Fraction(254, 10) * NM_PER_MM
_PLACES = 10_000


class Figure(str):
    """A number as text: it is written bare, whatever sign it begins with."""


def mm(nm) -> Figure | None:
    """Return whole nanometres as mm, exact, with two places at least."""
    if nm is None:
        return None
    whole, part = divmod(abs(nm), NM_PER_MM)
    return Figure(f"{'-' if nm < 0 else ''}{whole}.{f'{part:06d}'.rstrip('0').ljust(2, '0')}")


def full_size(nm, scale) -> Fraction:
    """Return ten-thousandths of an inch at full size, not rounded."""
    return nm / scale / _INCH_NM * _PLACES


def inches(ten_thousandths: int) -> Figure:
    whole, part = divmod(abs(ten_thousandths), _PLACES)
    return Figure(f"{'-' if ten_thousandths < 0 else ''}{whole}.{part:04d}")


def opening_names(build) -> dict[int, str]:
    """Return what each opening is called in a table: its side, with layer and place where a side has several."""
    openings = openings_of(build)
    sides = [one.side for one in openings]
    return {
        one.pk: one.side if sides.count(one.side) == 1 else f"{one.side}, layer {one.layer}, {one.position}"
        for one in openings
    }


def numbered_revisions(build) -> list[PlanRevision]:
    return list(PlanRevision.objects.filter(build=build, number__isnull=False).order_by("-number"))


def table_rows(build, kind, revision=None) -> list[list]:
    """Return the rows of one table, its header first; ``revision`` is the plan's, else the one in force."""
    if kind == "plan":
        return plan_rows(build, revision)
    return reading_rows(build, READING_KIND[kind])


# --- the plan ------------------------------------------------------------------------------------------------


def plan_rows(build, revision) -> list[list]:
    """Return the plan: a line a strake, keel side first, then the lines that make each station close."""
    stations, scale = list(build.stations.order_by("position")), build.scale
    head = [_("opening"), _("revision"), _("line"), _("strake"), _("from the keel"), _("run"), _("kind"), _("belt"),
            _("spans by frame")]  # fmt: skip
    head += [f"{s.name} mm" for s in stations]
    head += [_("%(station)s full size in") % {"station": s.name} for s in stations] if scale else []
    rows = [head]
    if revision is None:
        return rows
    names = opening_names(build)
    plans = {p.opening_id: p for p in PlanOpening.objects.filter(revision=revision).prefetch_related("girths")}
    openings = {one.pk: one for one in openings_of(build)}
    for pk, strakes in strakes_by_opening(revision).items():
        rows += _OpeningLines(names[pk], revision, openings[pk], plans.get(pk), strakes, stations, scale).rows()
    return rows


class _OpeningLines:
    """The lines of one opening; what is left of each rounding at full size goes on to the next line."""

    def __init__(self, name, revision, opening, plan, strakes, stations, scale):
        self.name, self.number, self.opening, self.plan = name, Figure(revision.number or ""), opening, plan
        self.strakes, self.stations, self.scale = strakes, stations, scale
        self.along = {s.pk: Fraction(0) for s in stations}

    def rows(self) -> list[list]:
        rows = [self._strake(one) for one in self.strakes]
        pks = [s.pk for s in self.stations]
        widths = {pk: sum(s.widths[pk].width_nm for s in self.strakes if pk in s.widths) for pk in pks}
        seams = {pk: self._seams(pk) for pk in pks}
        girths = {g.station_id: g.girth_nm for g in self.plan.girths.all()} if self.plan else {}
        read = [pk for pk in pks if widths[pk] or pk in girths]
        return [
            *rows,
            self._sum("sum of widths", {pk: widths[pk] for pk in read}),
            self._sum("seams", {pk: seams[pk] for pk in read}, after=widths),
            self._sum("girth", girths),
            self._sum("left over", {pk: girths[pk] - widths[pk] - seams[pk] for pk in read if pk in girths},
                      after={pk: widths[pk] + seams[pk] for pk in read}),
        ]  # fmt: skip

    def _strake(self, one) -> list:
        plan = one.plan
        spans = "; ".join(f"{first} to {last}" for first, last in plan.spans)
        cells = {pk: width.width_nm for pk, width in one.widths.items()}
        before = dict(self.along)
        for pk, nm in cells.items():
            if pk in self.along:
                self.along[pk] += nm
        lines = [self.name, self.number, "strake", plan.label, Figure(plan.position), plan.run, plan.kind,
                 plan.belt.name if plan.belt else "", spans]  # fmt: skip
        return lines + self._figures(cells, before)

    def _sum(self, line, cells, after=None) -> list:
        return [self.name, self.number, line, "", "", "", "", "", "", *self._figures(cells, after or {})]

    def _figures(self, cells, before) -> list:
        figures = [mm(cells.get(s.pk)) for s in self.stations]
        if self.scale:
            figures += [self._inches(cells.get(s.pk), before.get(s.pk, 0)) for s in self.stations]
        return figures

    def _inches(self, nm, before):
        if nm is None:
            return None
        start, end = full_size(Fraction(before), self.scale), full_size(Fraction(before) + nm, self.scale)
        return inches(round(end) - round(start))

    def _seams(self, pk) -> int:
        here = sum(pk in s.widths for s in self.strakes)
        behind = sum(s.state.measured == "before_log" and not s.widths for s in self.strakes)
        ends = (self.opening.keel_edge == Opening.Edge.FIXED) + (self.opening.wale_edge == Opening.Edge.FIXED)
        seams = max(0, here + behind - 1 + ends) if here else 0
        return seams * (self.plan.planned_seam_nm if self.plan else 0)


# --- the readings --------------------------------------------------------------------------------------------


def reading_rows(build, kind) -> list[list]:
    """Return every reading of a kind, counted or not, by opening, strake, station and time."""
    is_width = kind == Reading.Kind.WIDTH
    scale, zone, names = build.scale, zoneinfo.ZoneInfo(build.time_zone), opening_names(build)
    head = [_("opening"), *([_("strake")] if is_width else []), _("station"),
            *([_("planned mm")] if is_width else []), _("read mm"), *([_("off the plan mm")] if is_width else []),
            *([_("full size in")] if scale else []), _("as typed"), _("state"), _("why"), _("when"), _("person"),
            _("instrument"), _("method"), _("wood"), _("stage"), *([_("cut to revision")] if is_width else []),
            _("known since"), _("remark"), _("reading")]  # fmt: skip
    rows = [head]
    for opening in openings_of(build):
        shown = readings_of_opening(opening, kind)
        planned = planned_widths(shown) if is_width else {}
        labels = _labels(opening) if is_width else {}
        for one in sorted(shown, key=lambda s: _order(s.reading, labels)):
            rows.append(_reading_cells(one, names[opening.pk], labels, planned, scale, zone, is_width))
    return rows


def _labels(opening) -> dict[int, tuple[int, str]]:
    """Return place and label of each strake, by the newest numbered revision that has it."""
    plans = opening.plan_strakes.filter(revision__number__isnull=False).order_by("revision__number")
    return {p.strake_id: (p.position, p.label) for p in plans}


def _order(reading, labels):
    place = labels.get(reading.strake_id, (0, ""))
    return place, reading.station.position if reading.station else -1, reading.happened_at, reading.pk


def _reading_cells(shown, opening, labels, planned, scale, zone, is_width) -> list:
    reading = shown.reading
    nm, plan_nm = reading.value_nm, planned.get((reading.strake_id, reading.station_id))
    off = nm - plan_nm if nm is not None and plan_nm is not None else None
    revision = reading.plank.revision.number if reading.plank and reading.plank.revision else None
    full = inches(round(full_size(Fraction(nm), scale))) if scale and nm is not None else None
    return [
        opening, *([labels.get(reading.strake_id, (0, ""))[1]] if is_width else []),
        reading.station.name if reading.station else "", *([mm(plan_nm)] if is_width else []), mm(nm),
        *([mm(off)] if is_width else []), *([full] if scale else []), reading.typed, state_of(shown), shown.reason,
        _when(reading.happened_at, zone), reading.person.display_name if reading.person else "",
        reading.instrument.name if reading.instrument else "", reading.method, reading.damp, reading.stage,
        *([Figure(revision) if revision else ""] if is_width else []), _when(reading.known_at, zone),
        reading.kept_reason, str(reading.uuid),
    ]  # fmt: skip


def _when(moment, zone) -> str:
    return moment.astimezone(zone).isoformat(sep=" ")


def state_of(shown) -> str:
    """Return one word for whether a reading counts; words a script may rely on, so they are not translated."""
    reading = shown.reading
    amendment = getattr(reading, "amendment", None)
    if shown.counts:
        return "counts"
    if reading.value_nm is None:
        return "skipped"
    if amendment and amendment.act in (Amendment.Act.REPLACES, Amendment.Act.WITHDRAWS):
        return {"replaces": "replaced", "withdraws": "withdrawn"}[amendment.act]
    if shown.is_out:
        return "taken out"
    return "not counted"
