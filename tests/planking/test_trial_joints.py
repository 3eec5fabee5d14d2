"""The builder's own seam from trial joints."""

import math
import random

import pytest

from planking.errors import PlankingError
from planking.trial_joints import Seam, seam_of_joint, seam_of_joints


def test_five_strips_give_the_seam_to_their_doubt():
    # By hand: 5 x 5.00 = 25.00, across 25.056, four seams: 0.056 / 4.
    joint = seam_of_joint([5.0] * 5, 25.056, u_mm=0.02)

    assert joint.seam_mm == pytest.approx(0.014)
    assert joint.u_mm == pytest.approx(0.02 * math.sqrt(6) / 4)


def test_three_joints_of_five_strips_give_it_to_five_thousandths():
    joints = [seam_of_joint([5.0] * 5, 25.0 + 4 * seam, u_mm=0.0125) for seam in (0.012, 0.014, 0.016)]

    assert seam_of_joints(joints).u_mm < 0.005


def test_a_zero_that_reads_over_is_put_back():
    true, z = [4.8, 5.0, 5.2], 0.08
    read = [width + z for width in true]

    joint = seam_of_joint(read, 15.0 + 2 * 0.02 + z, u_mm=0.01, zero_offset_mm=z)

    assert joint.seam_mm == pytest.approx(0.02)


def test_doubt_is_what_simulated_readings_scatter_by():
    chance = random.Random(5)
    seams = [
        seam_of_joint(
            [5.0 + chance.gauss(0, 0.02) for _ in range(5)], 25.06 + chance.gauss(0, 0.02), u_mm=0.02
        ).seam_mm
        for _ in range(4000)
    ]
    mean = sum(seams) / len(seams)
    scatter = math.sqrt(sum((seam - mean) ** 2 for seam in seams) / (len(seams) - 1))

    # The standard error of a standard deviation of 4000 is 1.1 %; four of them.
    assert scatter == pytest.approx(0.02 * math.sqrt(6) / 4, rel=0.045)


def test_joints_that_differ_more_than_they_may_are_less_sure_together():
    """Birge's ratio by hand: values 1 and 3, doubts 0.5: chi^2 = 2 x (1 / 0.5)^2 = 8, one degree of freedom."""
    together = seam_of_joints([Seam(1.0, 0.5), Seam(3.0, 0.5)])

    assert together.seam_mm == 2.0
    assert together.u_mm == pytest.approx(math.sqrt(8) * 0.5 / math.sqrt(2))


def test_the_surer_joint_weighs_more():
    # 1/0.01^2 = 10000 and 1/0.02^2 = 2500: (10000 x 0.010 + 2500 x 0.020) / 12500.
    assert seam_of_joints([Seam(0.010, 0.01), Seam(0.020, 0.02)]).seam_mm == pytest.approx(0.012)


def test_a_joint_without_doubt_settles_it():
    assert seam_of_joints([Seam(0.010, 0.0), Seam(0.020, 0.02)]) == Seam(0.010, 0.0)


def test_one_joint_is_itself():
    assert seam_of_joints([Seam(0.014, 0.003)]).u_mm == pytest.approx(0.003)


@pytest.mark.parametrize(
    ("strips", "across", "u", "field"),
    [
        ([5.0], 5.0, 0.02, "strips"), ([], 5.0, 0.02, "strips"), ([5.0, float("nan")], 10.0, 0.02, "strips"),
        ([5.0, -5.0], 10.0, 0.02, "strips"), ([5.0, 5.0], float("inf"), 0.02, "strips"),
        ([5.0, 5.0], 10.0, -0.02, "u"), ([5.0, 5.0], 9.0, 0.02, "across"),
    ],
)  # fmt: skip
def test_a_joint_that_cannot_be_is_refused_by_its_field(strips, across, u, field):
    with pytest.raises(PlankingError) as refused:
        seam_of_joint(strips, across, u_mm=u)

    assert refused.value.field == field


def test_no_joint_is_refused():
    with pytest.raises(PlankingError):
        seam_of_joints([])
