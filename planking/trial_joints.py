"""Trial joints -> the builder's own seam: strips measured one by one, then across them all once glued.

With n strips of widths w and the width W across them, the n - 1 seams together are W less the sum of w. A
caliper that reads z too much reads every strip and the whole too much by z: the seam comes out z too small,
(W + z) - (sum w + n z) over n - 1, so a known zero is put back.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from planking.errors import PlankingError


@dataclass(frozen=True)
class Seam:
    """What one seam takes, mm, with its standard uncertainty, mm."""

    seam_mm: float
    u_mm: float


def seam_of_joint(
    strips_mm: Sequence[float], across_mm: float, *, u_mm: float, zero_offset_mm: float = 0.0
) -> Seam:
    """Return the seam that one trial joint tells.

    u = u_r sqrt(n + 1) / (n - 1): n readings of strips and one across, each with ``u_mm``, by the law of
    propagation (JCGM 100:2008, 5.1.2). ``zero_offset_mm`` is what the jaws read shut. A seam under nought is
    returned as it comes out while its doubt allows nought.

    >>> joint = seam_of_joint([5.0, 5.01, 4.99, 5.0, 5.0], 25.056, u_mm=0.01)
    >>> round(joint.seam_mm, 4), round(joint.u_mm, 4)
    (0.014, 0.0061)

    Raises `PlankingError` for fewer than two strips, a width that is none, or a joint narrower than its strips
    by more than its doubt.
    """
    if len(strips_mm) < 2:
        raise PlankingError("strips", "A trial joint needs two strips or more.")
    if not all(math.isfinite(width) and width > 0 for width in (*strips_mm, across_mm)):
        raise PlankingError("strips", "Every strip, and the width across them, is longer than nought.")
    if not (math.isfinite(u_mm) and u_mm >= 0 and math.isfinite(zero_offset_mm)):
        raise PlankingError("u", "The doubt of a reading is a number of millimetres, nought or more.")
    seams = len(strips_mm) - 1
    seam_mm = (across_mm - math.fsum(strips_mm)) / seams + zero_offset_mm
    u_seam_mm = u_mm * math.sqrt(len(strips_mm) + 1) / seams
    if seam_mm < -3 * u_seam_mm:
        raise PlankingError(
            "across", f"Across the joint is {-seam_mm * seams:.2f} less than its strips together. Measure it again."
        )
    return Seam(seam_mm, u_seam_mm)


def seam_of_joints(joints: Sequence[Seam]) -> Seam:
    """Return the seam that several trial joints tell together.

    The mean weighted by 1/u^2. Where the joints differ by more than their own doubts allow, its doubt grows by
    the ratio of Birge (1932), sqrt(chi^2 / (k - 1)), never under one.

    >>> together = seam_of_joints([Seam(0.014, 0.006), Seam(0.010, 0.006), Seam(0.018, 0.006)])
    >>> round(together.seam_mm, 4), round(together.u_mm, 4)
    (0.014, 0.0035)

    Raises `PlankingError` for no joint at all.
    """
    if not joints:
        raise PlankingError("joints", "There is no trial joint.")
    certain = [joint for joint in joints if joint.u_mm == 0]
    if certain:
        return Seam(math.fsum(joint.seam_mm for joint in certain) / len(certain), 0.0)
    weights = [joint.u_mm**-2 for joint in joints]
    total = math.fsum(weights)
    mean = math.fsum(weight * joint.seam_mm for weight, joint in zip(weights, joints, strict=True)) / total
    apart = math.fsum(w * (joint.seam_mm - mean) ** 2 for w, joint in zip(weights, joints, strict=True))
    ratio = math.sqrt(apart / (len(joints) - 1)) if len(joints) > 1 else 1.0
    return Seam(mean, max(1.0, ratio) / math.sqrt(total))
