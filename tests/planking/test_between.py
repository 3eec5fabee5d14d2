"""Between measured stations: the straight line and its bar, in closed form and by simulation."""

import math

import numpy as np
import pytest

from planking.between import bridge_roughness, on_the_line
from planking.drift import review
from planking.errors import PlankingError
from planking.hung_widths import hung_widths
from planking.opening import Epoch, Opening, Station, Strake, WidthReading


def test_at_a_measured_station_the_reading_stands() -> None:
    assert on_the_line([0.0, 10.0, 30.0], [0.1, 0.3, 0.2], [0.02, 0.02, 0.02], 10.0, 0.01) == (
        pytest.approx(0.3),
        pytest.approx(0.02),
    )


def test_a_quarter_of_the_way_is_worked_by_hand() -> None:
    value, u = on_the_line([0.0, 20.0], [0.1, 0.3], [0.02, 0.04], 5.0, 0.001)

    assert value == pytest.approx(0.15)
    assert u == pytest.approx(math.sqrt((0.75 * 0.02) ** 2 + (0.25 * 0.04) ** 2 + 0.001 * 20 * 0.25 * 0.75))


@pytest.mark.parametrize(("at", "end"), [(-8.0, 0), (38.0, 2)])
def test_beyond_the_last_station_the_value_is_held_and_the_bar_grows(at: float, end: int) -> None:
    value, u = on_the_line([0.0, 10.0, 30.0], [0.1, 0.3, 0.2], [0.02, 0.02, 0.02], at, 0.01)

    assert value == (0.1, 0.3, 0.2)[end]
    assert u == pytest.approx(math.sqrt(0.02**2 + 0.01 * 8))


def test_nothing_measured_is_refused() -> None:
    with pytest.raises(PlankingError):
        on_the_line([], [], [], 1.0, 0.1)


def test_roughness_never_falls_to_nought() -> None:
    assert bridge_roughness([0.0, 100.0], [0.0, 0.0], [1.0, 1.0]) == pytest.approx(1e-4 / 100)
    assert bridge_roughness([5.0], [0.0], [0.02]) == 0.0


@pytest.mark.parametrize("length", [0.15, 0.3])
def test_bars_are_honest_on_fields_the_rule_never_saw(length: float) -> None:
    # Smooth fields of sd 0.25, 41 uneven stations, every fourth read with u 0.02; 60 fields.
    draw = np.random.default_rng(11)
    inside = []
    for _ in range(60):
        x = np.sort(draw.uniform(0, 1, 41)) * 300
        cov = 0.25**2 * np.exp(-0.5 * ((x[:, None] - x[None, :]) / (length * 300)) ** 2)
        truth = np.linalg.cholesky(cov + 1e-9 * np.eye(41)) @ draw.normal(size=41)
        at = np.arange(0, 41, 4)
        read = truth[at] + 0.02 * draw.normal(size=len(at))
        rough = bridge_roughness(x[at].tolist(), read.tolist(), [0.02] * len(at))
        for index in set(range(41)) - set(at.tolist()):
            value, u = on_the_line(x[at].tolist(), read.tolist(), [0.02] * len(at), float(x[index]), rough)
            inside.append(abs(truth[index] - value) <= 1.96 * u)

    assert np.mean(inside) >= 0.95


def test_a_strake_not_read_here_is_believed_by_its_neighbours_along_the_hull() -> None:
    names, places = ("A", "B", "C"), (0.0, 10.0, 40.0)
    strakes = (
        Strake("1", "wale", dict.fromkeys(names, 5.0), state="hung", hung_order=1),
        Strake("2", "wale", dict.fromkeys(names, 5.0)),
    )
    widths = (WidthReading("1", "A", 5.10, "A"), WidthReading("1", "C", 5.02, "A"))
    opening = Opening(
        "port",
        tuple(Station(name, x) for name, x in zip(names, places, strict=True)),
        strakes,
        widths=widths,
        epochs=(Epoch("A", "caliper", 0.02, 0.02),),
        girth_planned_mm=dict.fromkeys(names, 10.0),
    )

    (here,), unknown = hung_widths(opening, "B")

    assert unknown == ()
    assert not here.read_here
    assert here.deviation_mm == pytest.approx(0.08)
    assert here.epoch == "A"
    assert here.u_mm > 0.02 * math.sqrt(0.75**2 + 0.25**2)
    assert review(opening).at("B").wale_drift[0].cumulative_mm == pytest.approx(0.08)
