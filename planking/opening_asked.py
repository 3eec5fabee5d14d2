"""An opening as it is written in a file: the same facts as `planking.opening`, keys spelled out, hung
strakes as a list.

Tasks that read an opening take these keys; `opening_of` turns them into the facts the arithmetic reads.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from planking.errors import PlankingError
from planking.opening import (
    EdgeReading,
    Epoch,
    GapReading,
    GirthReading,
    Limits,
    Opening,
    Run,
    State,
    Station,
    Strake,
    WidthReading,
    ZeroCheck,
)
from planking.scales import Scale


@dataclass(frozen=True)
class StationAsked:
    """A station and its place along the hull, where known."""

    name: str
    place_mm: float | None = None


@dataclass(frozen=True)
class StrakeAsked:
    """A strake: planned widths a station, what it was cut to and aimed at, and where it stands."""

    label: str
    run: Run
    planned_mm: Mapping[str, float]
    belt: str | None = None
    cut_to_mm: Mapping[str, float] | None = None
    aim_mm: Mapping[str, float] | None = None
    state: State = "open"
    hung_order: int | None = None


@dataclass(frozen=True)
class InstrumentAsked:
    """An instrument between two events that may move its zero: one epoch of it."""

    epoch: str
    instrument: str
    standard_uncertainty_mm: float = 0.02
    zero_standard_uncertainty_mm: float = 0.02
    zero_offset_mm: float = 0.0
    in_doubt: bool = False


@dataclass(frozen=True)
class WidthAsked:
    """A width read."""

    strake: str
    station: str
    width_mm: float
    epoch: str
    standard_uncertainty_mm: float | None = None


@dataclass(frozen=True)
class GapAsked:
    """A gap read, and which strakes were hung then."""

    station: str
    gap_mm: float
    hung: tuple[str, ...]
    standard_uncertainty_mm: float = 0.10
    epoch: str | None = None


@dataclass(frozen=True)
class EdgeAsked:
    """The way from a fixed line to the far edge of a strake."""

    from_line: Literal["keel", "wale"]
    strake: str
    station: str
    distance_mm: float
    standard_uncertainty_mm: float = 0.10
    epoch: str | None = None


@dataclass(frozen=True)
class GirthAsked:
    """A girth read on the bare hull."""

    station: str
    girth_mm: float
    standard_uncertainty_mm: float = 0.25


@dataclass(frozen=True)
class ZeroCheckAsked:
    """What an instrument read that should have read nought."""

    epoch: str
    offset_mm: float
    standard_uncertainty_mm: float = 0.01


@dataclass(frozen=True)
class OpeningAsked:
    """One opening: strakes from the keel side to the wale side, stations from forward to aft."""

    side: str
    stations: tuple[StationAsked, ...]
    strakes: tuple[StrakeAsked, ...]
    girths_planned_mm: Mapping[str, float] | None = None
    planned_seam_mm: float = 0.0
    seam_mm: float = 0.03
    seam_standard_uncertainty_mm: float = 0.03
    seam_scatter_mm: float = 0.01
    instruments: tuple[InstrumentAsked, ...] = ()
    widths: tuple[WidthAsked, ...] = ()
    gaps: tuple[GapAsked, ...] = ()
    edges: tuple[EdgeAsked, ...] = ()
    girths: tuple[GirthAsked, ...] = ()
    zero_checks: tuple[ZeroCheckAsked, ...] = ()
    limits: Limits = field(default_factory=Limits)
    keel_line_tight: bool = True
    wale_line_tight: bool = True
    cutting_scatter_mm: float = 0.06
    dead_flat: str | None = None
    scale: Scale | None = None


def opening_of(asked: OpeningAsked) -> Opening:
    """Return the facts of an opening as the arithmetic reads them.

    >>> opening_of(OpeningAsked("port", (StationAsked("D"),), ())).stations[0].name
    'D'

    Raises PlankingError with the name of the key as it stands in the file.
    """
    try:
        return Opening(
            side=asked.side,
            stations=tuple(Station(one.name, one.place_mm) for one in asked.stations),
            strakes=tuple(Strake(**vars(one)) for one in asked.strakes),
            girth_planned_mm=asked.girths_planned_mm,
            planned_seam_mm=asked.planned_seam_mm,
            seam_mm=asked.seam_mm,
            u_seam_mm=asked.seam_standard_uncertainty_mm,
            seam_scatter_mm=asked.seam_scatter_mm,
            widths=tuple(WidthReading(**_with_u(one)) for one in asked.widths),
            gaps=tuple(GapReading(**_with_u(one, hung=frozenset(one.hung))) for one in asked.gaps),
            edges=tuple(EdgeReading(**_with_u(one)) for one in asked.edges),
            girths=tuple(GirthReading(**_with_u(one)) for one in asked.girths),
            zero_checks=tuple(ZeroCheck(**_with_u(one)) for one in asked.zero_checks),
            epochs=tuple(_epoch(one) for one in asked.instruments),
            limits=asked.limits,
            keel_line_tight=asked.keel_line_tight,
            wale_line_tight=asked.wale_line_tight,
            cutting_scatter_mm=asked.cutting_scatter_mm,
            dead_flat=asked.dead_flat,
        )
    except PlankingError as refused:
        name = KEYS.get(refused.field, refused.field)
        raise PlankingError(name, refused.sentence) from None


KEYS = {
    "x_mm": "place_mm",
    "u_mm": "standard_uncertainty_mm",
    "u_reading_mm": "standard_uncertainty_mm",
    "u_zero_mm": "zero_standard_uncertainty_mm",
    "u_seam_mm": "seam_standard_uncertainty_mm",
    "girth_planned_mm": "girths_planned_mm",
    "epochs": "instruments",
}


def _with_u(one: object, **others: object) -> dict[str, Any]:
    facts = dict(vars(one)) | others
    facts["u_mm"] = facts.pop("standard_uncertainty_mm")
    return facts


def _epoch(one: InstrumentAsked) -> Epoch:
    return Epoch(
        one.epoch,
        one.instrument,
        one.standard_uncertainty_mm,
        one.zero_standard_uncertainty_mm,
        one.zero_offset_mm,
        one.in_doubt,
    )


EXAMPLE: dict[str, Any] = {
    "side": "port",
    "stations": [{"name": "M", "place_mm": 0}, {"name": "D", "place_mm": 110}],
    "strakes": [
        {"label": "1", "run": "keel", "planned_mm": {"M": 5, "D": 5}, "state": "hung", "hung_order": 2},
        {"label": "2", "run": "keel", "planned_mm": {"M": 5, "D": 5}},
        {"label": "3", "run": "closing", "planned_mm": {"M": 5, "D": 5}},
        {"label": "4", "run": "wale", "planned_mm": {"M": 5, "D": 5}},
        {"label": "5", "run": "wale", "planned_mm": {"M": 5, "D": 5}, "state": "hung", "hung_order": 1},
    ],
    "girths_planned_mm": {"M": 25.12, "D": 25.12},
    "planned_seam_mm": 0.02,
    "seam_mm": 0.02,
    "seam_standard_uncertainty_mm": 0.005,
    "instruments": [{"epoch": "A", "instrument": "caliper A"}],
    "widths": [
        {"strake": "5", "station": "M", "width_mm": 5.06, "epoch": "A"},
        {"strake": "5", "station": "D", "width_mm": "5,05", "epoch": "A"},
        {"strake": "1", "station": "M", "width_mm": 5.04, "epoch": "A"},
        {"strake": "1", "station": "D", "width_mm": 5.07, "epoch": "A"},
    ],
    "gaps": [
        {"station": "M", "gap_mm": 14.72, "hung": ["1", "5"], "standard_uncertainty_mm": 0.05},
        {"station": "D", "gap_mm": "14.70 mm", "hung": ["1", "5"], "standard_uncertainty_mm": 0.05},
    ],
    "girths": [{"station": "M", "girth_mm": 25.1}, {"station": "D", "girth_mm": 25.15}],
}
"""A small opening that works: two strakes hung of five, both stations read."""
