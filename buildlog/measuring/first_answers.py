"""The first answer: the gap divided by the strakes left, at each station, with what is odd about the widths.

Nothing but a gap and a count is needed; there may be no plan, no girth and no history.
"""

from dataclasses import dataclass
from fractions import Fraction

from buildlog.models import NM_PER_MM
from planking.lengths import from_nm
from planking.limits import WidthLimits
from planking.next_widths import NextWidths, StationGap, StationWidths, next_widths


@dataclass(frozen=True)
class AnswerRow:
    """One station of the answer; ``width_nm`` is rounded for showing, ``widths.widths_mm`` are exact."""

    station: object
    gap_nm: int
    left: int
    widths: StationWidths

    @property
    def width_nm(self) -> int:
        return round(self.widths.next_mm * NM_PER_MM)


@dataclass(frozen=True)
class FirstAnswer:
    """``rows`` forward to aft; ``warnings`` as whole sentences, each naming its station and rule."""

    side: str
    left: int
    rows: list[AnswerRow]
    widths: NextWidths
    stock_nm: int | None = None

    @property
    def all_alike(self) -> bool:
        return len({row.left for row in self.rows}) == 1

    @property
    def warnings(self) -> list[str]:
        return [warning.sentence for warning in self.widths.warnings]


def first_answer(side: str, stations, gaps_nm: dict[int, int], left_at: list[int], stock_nm=None, seam_nm=0):
    """Return gap / strakes left at each station; ``gaps_nm`` goes by the index of the station.

    Limits are shares of the width at dead flat, where one was taken there, else of the widest.
    """
    indexes = sorted(gaps_nm)
    gaps = [StationGap(stations[i].name, from_nm(gaps_nm[i]), left_at[i]) for i in indexes]
    flat = next((i for i in indexes if stations[i].is_dead_flat), None)
    full_nm = Fraction(gaps_nm[flat], left_at[flat]) if flat is not None else None
    widths = next_widths(gaps, seam_mm=from_nm(seam_nm), limits=limits_for(full_nm, stock_nm))
    rows = [
        AnswerRow(stations[i], gaps_nm[i], left_at[i], found)
        for i, found in zip(indexes, widths.stations, strict=True)
    ]
    return FirstAnswer(side, max(left_at), rows, widths, stock_nm)


def limits_for(full_nm: Fraction | None, stock_nm: int | None) -> WidthLimits:
    """Return the limits of usual strakes: shares of the full width, and no wider than the stock."""
    return WidthLimits(
        full_width_mm=full_nm / NM_PER_MM if full_nm else None,
        stock_width_mm=from_nm(stock_nm) if stock_nm else None,
    )
