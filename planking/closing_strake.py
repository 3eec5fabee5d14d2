"""The closing strake foretold: how wide it will come out at every station, how sure, and whether it fits at
all.

With W the room for the strakes left (estimate.py), r of them, the closing one last, and mu the habit,

    c = W - sum of the rest (w_i + mu_run + eta + cutting error)
    V = ledger's variance of that + (r-1)(s_b^2 + s_c^2) + r s_seam^2
    nu = df (V / Vs)^2,  Vs = min(0.95 V, (r-1)(s_b^2 + s_c^2) + (r-1)^2 s_b^2 / k)
    (Welch-Satterthwaite)

and the interval is mean -/+ t(0.975, nu) sqrt V. The second part of Vs, the habit's own error, which hangs
on the same unknown scatter, must not be forgotten: without it 95 % becomes 91. Lengths in mm.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from planking import estimate
from planking.errors import PlankingError
from planking.opening import Opening, Strake
from planking.plain_sum import closing_of
from planking.recut import recut
from planking.sureness import effective_freedom, student_factor

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

Policy = Literal["left_alone", "recut"]
SHARE = 0.95


@dataclass(frozen=True)
class Forecast:
    """One station's closing strake: expected, its 95 % interval, the chances, and strakes early or late.

    `early` counts whole strakes: 2 means the runs meet two strakes early, -1 that a strake more is needed.
    """

    station: str
    planned_mm: float
    expected_mm: float
    low_mm: float
    high_mm: float
    u_mm: float
    freedom: float
    too_narrow: float
    touching: float
    too_wide: float
    early: int
    fits: bool


@dataclass(frozen=True)
class ClosingStrake:
    """The closing strake at every station it reaches; `anywhere` brackets the chance of trouble at some
    station."""

    strake: str
    policy: Policy
    stations: tuple[Forecast, ...]
    worst: str
    anywhere_at_least: float
    anywhere_at_most: float

    def at(self, station: str) -> Forecast:
        """Return the forecast at one station, by its name."""
        return next(one for one in self.stations if one.station == station)


def closing_strake(
    opening: Opening, policy: Policy = "left_alone", *, solved: estimate.Ledger | None = None
) -> ClosingStrake:
    """Return the closing strake foretold with the rest cut to the plan in force, or to the fair recut with the
    habit taken off, as cards give it.

    Stations share the habit, the zero and the seam, so their chances do not add: the chance of trouble
    anywhere lies between the largest of them and their sum. Raises PlankingError where nothing is
    left to hang.

    >>> from planking.opening import GapReading, Station
    >>> strakes = tuple(Strake(label, "closing" if label == "2" else "wale", {"D": 5.0}) for label in "123")
    >>> gaps = (GapReading("D", 14.72, frozenset(), 0.01),)
    >>> one = Opening("port", (Station("D"),), strakes, gaps=gaps, u_seam_mm=0.001)
    >>> round(closing_strake(one).at("D").expected_mm, 2)
    4.6
    """
    solved = solved or estimate.ledger(opening)
    left = tuple(one for one in opening.strakes if one.state == "open")
    closing = closing_of(opening, tuple(reversed(left)))
    if closing is None:
        raise PlankingError("strakes", "Nothing is left to hang, so there is no closing strake.")
    rest = [one for one in left if one.label != closing.label]
    answer = _closing_answer(opening, solved, closing, rest, policy)
    freedom = _freedom(opening, solved, rest, answer.u**2)
    names = [one.name for one in opening.stations]
    stations = tuple(
        _forecast(
            opening, closing, rest, name, float(answer.mean[at]), float(answer.u[at]), float(freedom[at])
        )
        for at, name in enumerate(names)
        if name in closing.planned_mm
    )
    if not stations:
        raise PlankingError("planned_mm", f"Strake {closing.label} has no planned width at any station.")
    chances = [min(1.0, one.too_narrow + one.too_wide) for one in stations]
    worst = stations[max(range(len(stations)), key=lambda at: chances[at])]
    return ClosingStrake(closing.label, policy, stations, worst.station, max(chances), min(1.0, sum(chances)))


def _closing_answer(
    opening: Opening, solved: estimate.Ledger, closing: Strake, rest: list[Strake], policy: Policy
) -> estimate.Answer:
    """Return the closing width at every station: the room less what the rest will take, habit and scatter
    with it."""
    import numpy as np

    asked = estimate.room_question(solved)
    names = [one.name for one in opening.stations]
    widths = _widths(opening, solved, rest, policy)
    const, shared, local = asked.const.copy(), asked.shared.copy(), asked.local.copy()
    reach = np.zeros((len(names), len(rest)))
    for column, strake in enumerate(rest):
        present = np.array([float(name in strake.planned_mm) for name in names])
        reach[:, column] = present
        const -= widths[:, column]
        # A recut takes the habit off beforehand, so only what is not known of it is left to come.
        shared[:, solved.column("mu")] -= present
        if strake.run in ("wale", "keel"):
            shared[:, solved.column(strake.run)] -= present
        local -= present
    question = estimate.Question(const, shared, asked.girth, local, asked.cuts, asked.seams)
    found = solved.answer(question)
    mean = found.mean
    if policy == "recut":
        for column, strake in enumerate(rest):
            mean = mean + reach[:, column] * estimate.habit_here(solved, strake.run).mean
    own = reach.sum(axis=1) * solved.scatter.station_mm2
    own += (solved.rows.seams_in_all - solved.rows.seams_hung) * opening.seam_scatter_mm**2
    return estimate.Answer(mean, found.covariance + solved.scatter.cut_mm2 * (reach @ reach.T) + np.diag(own))


def _widths(opening: Opening, solved: estimate.Ledger, rest: list[Strake], policy: Policy) -> "Array":
    import numpy as np

    names = [one.name for one in opening.stations]
    if policy == "left_alone":
        return np.array([[one.planned_mm.get(name, 0.0) for one in rest] for name in names]).reshape(
            len(names), len(rest)
        )
    wanted = {
        (one.strake, one.station): one.wanted_mm for one in recut(opening, "fair", solved=solved).widths
    }
    return np.array([[wanted.get((one.label, name), 0.0) for one in rest] for name in names]).reshape(
        len(names), len(rest)
    )


def _freedom(opening: Opening, solved: estimate.Ledger, rest: list[Strake], variance: "Array") -> "Array":
    import numpy as np

    scatter = solved.scatter
    number = np.array(
        [sum(name.name in one.planned_mm for one in rest) for name in opening.stations], dtype=float
    )
    read = max(1, int((solved.rows.epoch >= 0).any(axis=0).sum()))
    unsure = number * (scatter.cut_mm2 + scatter.station_mm2) + number**2 * scatter.cut_mm2 / read
    unsure = np.minimum(0.95 * variance, unsure)
    pairs = zip(variance, np.maximum(unsure, 1e-12), strict=True)
    return np.array([effective_freedom(float(v), [(float(part), scatter.freedom)]) for v, part in pairs])


def _forecast(
    opening: Opening, closing: Strake, rest: list[Strake], station: str, mean: float, u: float, freedom: float
) -> Forecast:
    from scipy.special import stdtr

    planned = closing.planned_mm[station]
    lowest, highest = opening.limits.widths_mm(planned)
    freedom = min(freedom, 1e6)
    half = student_factor(freedom, SHARE) * u
    doubt = max(u, 1e-9)
    early, fits = strakes_early(mean, [one.planned_mm.get(station, 0.0) for one in rest], lowest, highest)
    return Forecast(
        station=station,
        planned_mm=planned,
        expected_mm=mean,
        low_mm=mean - half,
        high_mm=mean + half,
        u_mm=u,
        freedom=freedom,
        too_narrow=float(stdtr(freedom, (lowest - mean) / doubt)),
        touching=float(stdtr(freedom, -mean / doubt)),
        too_wide=float(stdtr(freedom, (mean - highest) / doubt)),
        early=early,
        fits=fits,
    )


def strakes_early(
    closing_mm: float, rest_mm: list[float], lowest_mm: float, highest_mm: float
) -> tuple[int, bool]:
    """Return how many strakes early the runs meet, and whether the piece left then fits the limits.

    Strakes left out from the last to be cut give their width to the closing one until it is no longer too
    narrow; too wide a gap is late by the whole strakes that bring it under its limit. Source: derived here.

    >>> strakes_early(4.8, [5.0, 5.0], 2.5, 7.5), strakes_early(-0.5, [5.0, 5.0], 2.5, 7.5)
    ((0, True), (1, True))
    >>> strakes_early(9.0, [5.0], 2.5, 7.5), strakes_early(-3.0, [5.0], 2.5, 7.5)
    ((-1, True), (1, False))
    """
    early, piece = 0, closing_mm
    widths = [width for width in rest_mm if width > 0]
    while piece < lowest_mm and early < len(widths):
        early += 1
        piece += widths[-early]
    if not early:
        typical = sum(widths) / len(widths) if widths else (lowest_mm + highest_mm) / 2
        while piece > highest_mm and typical > 0:
            early -= 1
            piece -= typical
    return early, lowest_mm <= piece <= highest_mm
