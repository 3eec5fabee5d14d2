"""What the zero of an instrument does to what was read: one rule for the ledger and for every page."""

from buildlog.models import NM_PER_MM
from planking import opening as facts
from planking.hung_widths import zero_of

_DEFAULT_U_ZERO_CHECK_NM = 10_000


def width_mm(opening: facts.Opening, label: str, station: str) -> float | None:
    """Return the width of a strake as the ledger counts it: as read, less the zero of the instrument."""
    reading = opening.width_at.get((label, station))
    return None if reading is None else reading.width_mm - zero_of(opening, reading.epoch)[0]


def u_zero_mm(epoch, zero) -> float:
    """Return how unsure the zero of an epoch is, before its checks are weighed.

    An offset that waits for a correction is not taken off, for it is asked first which readings it is of. Until
    then the zero is as unsure as the check was off.
    """
    if zero.correction:
        return zero.correction.u_nm / NM_PER_MM
    off_nm = zero.offset_nm if zero.state == "off" else 0
    return (epoch.u_zero_nm**2 + off_nm**2) ** 0.5 / NM_PER_MM


def zero_checks_told(name, zero):
    """Yield the checks that tell an epoch's zero, as planking reads them."""
    for check in zero.weighed:
        u_nm = check.u_nm or _DEFAULT_U_ZERO_CHECK_NM
        yield facts.ZeroCheck(name, offset_mm=check.offset_nm / NM_PER_MM, u_mm=u_nm / NM_PER_MM)
