"""How much the cutting scatters, learned from the builder's own log as it grows."""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from planking.ledger_rows import U_UNKNOWN_MM, Rows
from planking.opening import Opening

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

PRIOR_FREEDOM = 2.0
"""The prior scatter counts for as much as two strakes."""

CUT_SHARE = 0.65
"""The share of the scatter that a whole strake has in common."""

ALONG_HULL = 0.3
"""How many independent readings one more station of a strake is worth: cutting errors run smoothly along the
hull."""


@dataclass(frozen=True)
class Scatter:
    """The scatter of the cutting: variance of a whole strake, of a strake at one station, and how sure."""

    cut_mm2: float
    station_mm2: float
    freedom: float

    @property
    def sd_mm(self) -> float:
        """Return the standard deviation of one strake's width at one station about its aim and habit."""
        return math.sqrt(self.cut_mm2 + self.station_mm2)


def scatter_of(opening: Opening, rows: Rows) -> Scatter:
    """Return the scatter of the cutting, the prior drawn towards what the readings show.

    s_b^2 = (nu0 0.65 s0^2 + SS of strake means within runs) / (nu0 + sum (n_run - 1)); s_c^2 from what is
    left at the stations about strake mean and station mean, less the readings' own u^2, with 0.3 (k-1)(S-1)
    degrees of freedom. nu0 = 2, s0 the opening's cutting scatter (0.06 mm by default). Source: derived here;
    the prior share of s_c is the rest.

    >>> from planking.opening import Station
    >>> one = Opening("port", (Station("D"),), ())
    >>> from planking.ledger_rows import rows_of
    >>> round(scatter_of(one, rows_of(one)).sd_mm, 3)
    0.06
    """
    import numpy as np

    prior = opening.cutting_scatter_mm**2
    zeros = np.array([one.zero_offset_mm for one in opening.epochs] or [0.0])
    read = (rows.u_width < U_UNKNOWN_MM / 10) & (rows.free == 0) & (rows.present > 0)
    off = np.where(read, rows.width - zeros[np.maximum(rows.epoch, 0)] - rows.aim, np.nan)
    used = np.nonzero(read.any(axis=0))[0]
    if not len(used):
        return Scatter(CUT_SHARE * prior, (1 - CUT_SHARE) * prior, PRIOR_FREEDOM)
    means = np.array([np.nanmean(off[:, column]) for column in used])
    runs = [rows.strakes[column].run for column in used]
    squares, freedom = 0.0, PRIOR_FREEDOM
    for run in ("wale", "keel"):
        of_run = means[[index for index, one in enumerate(runs) if one == run]]
        if len(of_run) > 1:
            squares += float(((of_run - of_run.mean()) ** 2).sum())
            freedom += len(of_run) - 1
    cut = (PRIOR_FREEDOM * CUT_SHARE * prior + squares) / freedom
    return Scatter(
        max(cut, 1e-6), _at_stations(off[:, used], rows.u_width[:, used], read[:, used], prior), freedom
    )


def _at_stations(off: "Array", u: "Array", read: "NDArray[np.bool_]", prior: float) -> float:
    """Return the variance of a strake at one station about its own mean and the station's, without the
    readings' own."""
    import numpy as np

    weight = read.astype(float)
    filled = np.where(read, off, 0.0)
    mean = filled.sum(axis=0) / np.maximum(weight.sum(axis=0), 1)
    left = np.where(read, off - mean, 0.0)
    local = left.sum(axis=1) / np.maximum(weight.sum(axis=1), 1)
    left = np.where(read, left - local[:, None], 0.0)
    strakes, stations = int((weight.sum(axis=0) > 0).sum()), int((weight.sum(axis=1) > 0).sum())
    cells = max(0, strakes - 1) * max(0, stations - 1)
    if not cells:
        return (1 - CUT_SHARE) * prior
    noise = float((weight * np.where(read, u, 0.0) ** 2).sum() / weight.sum())
    seen = max(0.0, float((left**2).sum()) - cells * noise)
    share = ALONG_HULL * cells
    found: float = (PRIOR_FREEDOM * (1 - CUT_SHARE) * prior + ALONG_HULL * seen) / (PRIOR_FREEDOM + share)
    return max(found, 1e-6)
