"""Smooth lines against scipy's own monotone cubic, and the laws a drawn edge must keep."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from buildlog.pictures.curves import Curve, bezier

XS = [0.0, 27.5, 82.5, 137.6, 192.6, 247.6, 302.6]
# A width is nothing or at least a thousandth: scipy divides by slopes, and a subnormal one overflows there.
WIDTHS = st.lists(st.just(0.0) | st.floats(0.001, 12), min_size=len(XS), max_size=len(XS))


@given(widths=WIDTHS, share=st.floats(0, 1))
def test_curve_is_the_monotone_cubic_of_scipy(widths, share):
    x = XS[-1] * share

    y, slope = Curve(XS, widths).at(x)

    reference = PchipInterpolator(XS, widths)
    assert y == pytest.approx(float(reference(x)), abs=1e-9)
    assert slope == pytest.approx(float(reference.derivative()(x)), abs=1e-6)


@given(widths=WIDTHS, share=st.floats(0, 1))
def test_curve_never_leaves_the_two_readings_it_lies_between(widths, share):
    x = XS[-1] * share
    index = max(i for i in range(len(XS) - 1) if XS[i] <= x)

    y = Curve(XS, widths).at(x)[0]

    assert min(widths[index : index + 2]) - 1e-9 <= y <= max(widths[index : index + 2]) + 1e-9


@given(
    widths=WIDTHS,
    ends=st.tuples(st.floats(0, 300), st.floats(0, 300)).filter(lambda e: abs(e[0] - e[1]) > 0.1),
)
def test_a_stretch_of_a_curve_is_the_same_curve(widths, ends):
    start, end = sorted(ends)
    whole = Curve(XS, widths)

    knots = whole.knots(start, end)

    part = Curve([k[0] for k in knots], [k[1] for k in knots], [k[2] for k in knots])
    for share in (0.13, 0.5, 0.87):
        x = start + (end - start) * share
        assert part.at(x)[0] == pytest.approx(whole.at(x)[0], abs=1e-6)


@pytest.mark.parametrize("ys", [[3.0], [3.0, 4.0]])
def test_curve_of_one_or_two_places_is_straight(ys):
    curve = Curve(XS[: len(ys)], ys)

    assert curve.at(-10.0)[0] == ys[0]
    assert curve.at(500.0)[0] == ys[-1]
    assert curve.at(XS[len(ys) - 1] / 2)[0] == pytest.approx(sum(ys) / len(ys))


def test_bezier_reaches_every_knot():
    assert bezier([(0.0, 1.0, 0.0), (3.0, 4.0, 1.0)]) == "M0 1C1.0 1.0 2.0 3.0 3.0 4.0"
