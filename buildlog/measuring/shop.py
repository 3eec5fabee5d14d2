"""What the trial joints of a shop tell of its seam."""

from buildlog.models import NM_PER_MM
from buildlog.queries.shop import standing_joints
from planking.errors import PlankingError
from planking.trial_joints import Seam, seam_of_joint, seam_of_joints

# Where nothing is known of the instrument: one reading of a caliper.
USUAL_U_NM = 20_000


def joint_told(strips_nm, across_nm, *, instrument, zero_offset_nm=0) -> Seam:
    """Return the seam of one trial joint as it was measured; PlankingError where it cannot be."""
    u_nm = instrument.u_nm if instrument else USUAL_U_NM
    return seam_of_joint(
        [nm / NM_PER_MM for nm in strips_nm], across_nm / NM_PER_MM, u_mm=u_nm / NM_PER_MM,
        zero_offset_mm=zero_offset_nm / NM_PER_MM,
    )  # fmt: skip


def seam_of_shop(build, as_of=None) -> Seam | None:
    """Return the seam that all standing trial joints tell together, or None before the first."""
    joints = [Seam(one.seam_nm / NM_PER_MM, one.u_nm / NM_PER_MM) for one in standing_joints(build, as_of)]
    return seam_of_joints(joints) if joints else None


__all__ = ["PlankingError", "joint_told", "seam_of_shop"]
