"""One gap check as a table: planned, measured and short, and what the shortage is made of, adding up as shown."""

from dataclasses import dataclass

HUNDREDTH = 0.01


@dataclass(frozen=True)
class CheckRow:
    """One station. ``parts`` come in the order of ``CheckTable.part_names`` and add up to ``short`` as shown."""

    station: str
    verdict: str
    method: str
    takes: int
    spread_mm: float | None
    planned_mm: float
    measured_mm: float | None
    short_mm: float | None
    parts: tuple[float, ...]
    left: int
    closing: object
    left_alone_mm: float | None
    step_mm: float | None


@dataclass(frozen=True)
class CheckTable:
    rows: tuple[CheckRow, ...]
    part_names: tuple[str, ...]
    closing: str

    @property
    def spans(self) -> list[CheckRow]:
        """The rows that caliper jaws would have spanned more than one strake at."""
        return [row for row in self.rows if row.left > 1]


# What is always shown, and what only where it is not nought.
ALWAYS, AT_NEED = ("widths", "girth", "seams", "left_over"), ("in_plan", "weighed")


def check_table(review, check) -> CheckTable:
    """Return the stations that were read in a check, forward to aft."""
    read = [at for at in review.stations if check.takes_at(at.station)]
    shown = [at for at in read if at.parts is not None]
    needed = [name for name in AT_NEED if any(round(getattr(at.parts, f"{name}_mm"), 2) for at in shown)]
    names = ("in_plan",) * ("in_plan" in needed) + ALWAYS[:3] + ("weighed",) * ("weighed" in needed) + ALWAYS[3:]
    closing = next((at.closing for at in read if at.closing), "")
    return CheckTable(tuple(_row(at, check, names) for at in read), names, closing)


def _row(at, check, names) -> CheckRow:
    takes = check.takes_at(at.station)
    values = [take.value_nm / 1e6 for take in takes]
    closing = next((new for new in at.even if new.strake == at.closing), None)
    short = at.parts.total_mm if at.parts else at.short_mm
    methods = sorted({take.get_method_display().lower() for take in takes})
    return CheckRow(
        station=at.station, verdict=at.verdict, method=", ".join(methods),
        takes=len(takes), spread_mm=max(values) - min(values) if len(values) > 1 else None,
        planned_mm=_planned_as_shown(at, short), measured_mm=at.gap_read_mm, short_mm=short,
        parts=tuple(getattr(at.parts, f"{name}_mm") for name in names) if at.parts else (), left=len(at.left),
        closing=closing, left_alone_mm=at.left_alone_mm, step_mm=at.step_mm,
    )  # fmt: skip


def _planned_as_shown(at, short) -> float:
    """Return the planned gap so rounded that it is the measured gap and what is short, as shown; never moved by
    more than the last place."""
    if at.gap_read_mm is None or short is None:
        return at.planned_gap_mm
    added = round(at.gap_read_mm, 2) + round(short, 2)
    return added if abs(added - at.planned_gap_mm) <= HUNDREDTH else at.planned_gap_mm
