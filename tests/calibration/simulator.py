"""Invented openings whose truth is known: ten classes, the builder's hand and instruments drawn anew for
each.

Twenty strakes, ten uneven stations, widths near 5 mm. The truth follows the model of the ledger in the first
class and breaks it, each in one way, in the others; nobody measured a real hull for this.
"""

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from planking.opening import Epoch, GapReading, GirthReading, Opening, Station, Strake, WidthReading

Array = NDArray[np.float64]

STRAKES, STATIONS = 20, 10
PLACES = np.array([0.0, 22.0, 60.0, 97.0, 150.0, 201.0, 250.0, 306.0, 345.0, 360.0])
SHAPE = np.array([0.84, 0.92, 0.98, 1.0, 1.02, 1.03, 1.02, 1.0, 0.97, 0.93]) * 5.0
U_READING, U_ZERO, U_GIRTH, U_GAP, SEAM = 0.02, 0.02, 0.25, 0.10, 0.03


@dataclass(frozen=True)
class Truth:
    """One way the world may be; the defaults are the model as the ledger has it."""

    name: str = "as stated"
    zero: float | None = None
    seam: float | None = None
    habit: float | None = None
    sigma: float | None = None
    rough: bool = False
    girth_u: float = U_GIRTH
    girth_shared: float = 0.0
    knock: float = 0.0
    unread: float = 0.0
    slips: float = 0.0
    gap_u: float = U_GAP


CLASSES = (
    Truth(),
    Truth("z +.05, seam .06", zero=0.05, seam=0.06),
    Truth("z -.05, seam .06", zero=-0.05, seam=0.06),
    Truth("habit +.10", habit=0.10),
    Truth("habit -.08, sigma .09", habit=-0.08, sigma=0.09),
    Truth("sigma .03", sigma=0.03),
    Truth("sigma .12, rough", sigma=0.12, rough=True),
    Truth("girth .40, half shared", girth_u=0.40, girth_shared=0.5),
    Truth("knock +.05 at strake 8, not declared", knock=0.05),
    Truth("20 % not read, 1 % slips", unread=0.2, slips=0.01),
)


def order_of_hanging() -> list[int]:
    """Strakes from keel (0) to wale (19), hung in turn from the wale and from the keel; the last closes."""
    order: list[int] = []
    low, high = 0, STRAKES - 1
    while low <= high:
        order.append(high)
        if low < high:
            order.append(low)
        low, high = low + 1, high - 1
    return order


ORDER = order_of_hanging()
CLOSING = ORDER[-1]


@dataclass
class Hull:
    """One opening under way: its hidden truth, what was read so far, and the plan in force."""

    truth: Truth
    draw: np.random.Generator
    girth: Array = field(init=False)
    girth_read: Array = field(init=False)
    first_plan: Array = field(init=False)
    plan: Array = field(init=False)
    cut_to: Array = field(init=False)
    aim: Array = field(init=False)
    true: Array = field(init=False)
    hung: list[int] = field(default_factory=list)
    widths: list[WidthReading] = field(default_factory=list)
    gaps: list[GapReading] = field(default_factory=list)

    def __post_init__(self) -> None:
        truth, draw = self.truth, self.draw
        self.girth = SHAPE * STRAKES + SEAM * (STRAKES + 1)
        alone = np.sqrt(1 - truth.girth_shared) * draw.normal(size=STATIONS)
        together = np.sqrt(truth.girth_shared) * draw.normal()
        self.girth_read = self.girth + truth.girth_u * (alone + together)
        self.first_plan = np.tile(((self.girth_read - SEAM * (STRAKES + 1)) / STRAKES)[:, None], (1, STRAKES))
        self.plan = self.first_plan.copy()
        self.cut_to, self.aim = self.first_plan.copy(), self.first_plan.copy()
        self.true = np.zeros((STATIONS, STRAKES))
        self.sigma = 0.06 * np.exp(0.3 * draw.normal()) if truth.sigma is None else truth.sigma
        common = 0.05 * draw.normal() if truth.habit is None else truth.habit
        runs = np.zeros(2) if truth.habit is not None else 0.03 * draw.normal(size=2)
        self.run_habit = (0.8 * common if truth.habit is None else common) + runs
        self.local_habit = 0.02 * draw.normal(size=STATIONS)
        self.zero = U_ZERO * draw.normal() if truth.zero is None else truth.zero
        self.seam = max(0.0, SEAM + 0.03 * draw.normal()) if truth.seam is None else truth.seam
        self.taken = np.zeros(STATIONS)
        self.smooth = _smooth_root()

    def room(self) -> Array:
        """The true gap, its seams to come not taken off."""
        return self.girth - self.taken

    def cutting_error(self, trimmed: bool) -> Array:
        share = 0.5 if trimmed else 1.0
        if self.truth.rough:
            return share * self.sigma * self.draw.normal(size=STATIONS)
        own = self.smooth @ self.draw.normal(size=STATIONS)
        return share * self.sigma * (np.sqrt(0.5) * self.draw.normal() + np.sqrt(0.5) * own)

    def hang(self, aim: Array, *, trimmed: bool = False) -> None:
        """Cut the next strake to an aim, read it, and hang it. Trimming halves the scatter and the habit."""
        at = ORDER[len(self.hung)]
        habit = self.run_habit[0 if at > CLOSING else 1] + self.local_habit
        width = aim + (0.5 if trimmed else 1.0) * habit + self.cutting_error(trimmed)
        self.true[:, at], self.cut_to[:, at], self.aim[:, at] = width, self.plan[:, at], aim
        self.read_width(at, width)
        self.taken = self.taken + width + self.seam + 0.01 * self.draw.normal(size=STATIONS)
        self.hung.append(at)

    def read_width(self, at: int, width: Array) -> None:
        zero = self.zero + (self.truth.knock if len(self.hung) >= 8 else 0.0)
        read = width + zero + U_READING * self.draw.normal(size=STATIONS)
        slip = self.draw.random(STATIONS) < self.truth.slips
        read = read + slip * 0.3 * self.draw.choice([-1.0, 1.0], size=STATIONS)
        kept = self.draw.random(STATIONS) >= self.truth.unread
        label = str(at)
        self.widths += [
            WidthReading(label, f"S{s}", float(max(read[s], 0.1)), "A") for s in range(STATIONS) if kept[s]
        ]

    def read_gap(self) -> None:
        hung = frozenset(str(at) for at in self.hung)
        read = self.room() + self.truth.gap_u * self.draw.normal(size=STATIONS)
        slip = self.draw.random(STATIONS) < self.truth.slips
        read = read + slip * 0.6 * self.draw.choice([-1.0, 1.0], size=STATIONS)
        self.gaps += [
            GapReading(f"S{s}", float(max(read[s], 0.0)), hung, self.truth.gap_u) for s in range(STATIONS)
        ]

    def closing_as_made(self) -> Array:
        """The closing strake fitted to the true gap, two seams taken off."""
        return self.room() - 2 * self.seam

    def opening(self) -> Opening:
        """What the builder's log holds now, as the public functions take it."""
        return Opening(
            side="port",
            stations=_STATIONS,
            strakes=tuple(self._strake(at) for at in range(STRAKES)),
            girth_planned_mm={f"S{s}": float(value) for s, value in enumerate(self.girth_read)},
            planned_seam_mm=SEAM,
            widths=tuple(self.widths),
            gaps=tuple(self.gaps),
            girths=tuple(
                GirthReading(f"S{s}", float(value), U_GIRTH) for s, value in enumerate(self.girth_read)
            ),
            epochs=_EPOCHS,
        )

    def _strake(self, at: int) -> Strake:
        run = "closing" if at == CLOSING else "wale" if at > CLOSING else "keel"
        is_hung = at in self.hung
        return Strake(
            str(at),
            run,
            _by_station(self.plan[:, at]),
            cut_to_mm=_by_station(self.cut_to[:, at]) if is_hung else None,
            aim_mm=_by_station(self.aim[:, at]) if is_hung else None,
            state="hung" if is_hung else "open",
            hung_order=self.hung.index(at) + 1 if is_hung else None,
        )


_STATIONS = tuple(Station(f"S{s}", float(x)) for s, x in enumerate(PLACES))
_EPOCHS = (Epoch("A", "caliper", U_READING, U_ZERO),)


def _by_station(values: Array) -> dict[str, float]:
    return {f"S{s}": float(value) for s, value in enumerate(values)}


def _smooth_root() -> Array:
    """A root of the covariance of a smooth field along the hull: length a quarter of it (squared
    exponential)."""
    apart = (PLACES[:, None] - PLACES[None, :]) / (0.25 * (PLACES[-1] - PLACES[0]))
    values, vectors = np.linalg.eigh(np.exp(-0.5 * apart**2))
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0)))


def renamed(truth: Truth, **facts: object) -> Truth:
    """The same class with some facts changed, for what-if tables."""
    return replace(truth, **facts)
