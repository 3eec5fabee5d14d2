"""What a review of an opening says: plain results that can be stored as JSON and shown as they are."""

from dataclasses import dataclass, is_dataclass
from typing import Any, Literal

Verdict = Literal["carry_on", "spread_it", "change_plan", "measure_gap"]


@dataclass(frozen=True)
class SumLine:
    """One line of a sum in words. A `total` adds the terms since the last total or heading, exactly as
    shown."""

    kind: Literal["heading", "term", "total", "note"]
    words: str
    value_mm: float | None = None
    shown: str = ""


@dataclass(frozen=True)
class DriftPoint:
    """A run's drift after one more strake: its own deviation, all so far, and the doubt of that sum."""

    strake: str
    deviation_mm: float
    cumulative_mm: float
    doubt_mm: float
    read_here: bool


@dataclass(frozen=True)
class ShortageParts:
    """Why the gap is short, as shown: rounded by the running remainder, so that the parts add up to
    `total_mm`."""

    in_plan_mm: float
    widths_mm: float
    girth_mm: float
    seams_mm: float
    weighed_mm: float
    left_over_mm: float
    total_mm: float
    seams: int
    seam_mm: float


@dataclass(frozen=True)
class NewWidth:
    """The width one strake would have if the shortage were spread evenly."""

    strake: str
    planned_mm: float
    even_mm: float


@dataclass(frozen=True)
class CountThatWouldDo:
    """Another number of strakes for the gap left, and the widths it would give."""

    strakes_left: int
    narrowest_mm: float
    widest_mm: float
    narrowest_at: str
    widest_at: str


@dataclass(frozen=True)
class StationReview:
    """What the readings say of one station, and the sum behind it."""

    station: str
    verdict: Verdict
    reason: str
    about_at_limit: bool
    sentence: str
    sum: tuple[SumLine, ...]
    wale_drift: tuple[DriftPoint, ...]
    keel_drift: tuple[DriftPoint, ...]
    left: tuple[str, ...]
    planned_gap_mm: float
    gap_read_mm: float | None
    hung_since: tuple[str, ...]
    gap_mm: float | None
    gap_from_widths_mm: float | None
    short_mm: float | None
    parts: ShortageParts | None
    cause_known: bool
    doubt_mm: float
    doubt_after_reading_mm: float
    seams_to_go: int
    seam_mm: float
    seam_is_own: bool
    room_mm: float | None
    closing: str | None
    closing_planned_mm: float | None
    left_alone_mm: float | None
    step_mm: float | None
    step_limit_mm: float | None
    to_take_up_mm: float | None
    capacity_mm: float
    share_of_eye: float | None
    even: tuple[NewWidth, ...]


@dataclass(frozen=True)
class Note:
    """Words that are no alarm: a run of one sign, a habit, readings that do not agree. `stations` names
    where, and `sum` holds the figures behind the words, line by line."""

    kind: Literal["one_sign", "habit", "disagreement", "too_good", "in_doubt", "slip", "scatter"]
    sentence: str
    strakes: tuple[str, ...] = ()
    stations: tuple[str, ...] = ()
    value_mm: float | None = None
    doubt_mm: float | None = None
    sum: tuple[SumLine, ...] = ()


@dataclass(frozen=True)
class WidthNews:
    """A new width that is news: it differs from the plan by more than 0.02 mm."""

    strake: str
    station: str
    planned_mm: float
    even_mm: float


@dataclass(frozen=True)
class OpeningReview:
    """What the readings say of the whole opening: what to do, where it is worst, and what is due."""

    side: str
    verdict: Verdict
    reason: str
    sentence: str
    worst: str | None
    also: str | None
    stations: tuple[StationReview, ...]
    strakes_left: tuple[str, ...]
    hung: int
    gap_checks_due: tuple[str, ...]
    gap_check_sentence: str
    new_widths_offered: bool
    new_widths_reason: str
    news: tuple[WidthNews, ...]
    notes: tuple[Note, ...]
    counts_that_would_do: tuple[CountThatWouldDo, ...]

    def at(self, station: str) -> StationReview:
        """Return the review of one station, by its name."""
        return next(one for one in self.stations if one.station == station)

    def as_json(self) -> dict[str, Any]:
        """Return the review as plain dictionaries, lists, texts and numbers."""
        plain: dict[str, Any] = _plain(self)
        return plain


def _plain(value: Any) -> Any:
    """What ``dataclasses.asdict`` does, without its deep copies, which took longer than the review itself."""
    if is_dataclass(value):
        return {name: _plain(getattr(value, name)) for name in value.__dataclass_fields__}
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    return value
