"""The two sides: what the eye sees is told, what it does not is left alone."""

import math
from dataclasses import replace

import numpy as np
import pytest

from planking.opening import Epoch, Opening, Station, Strake, WidthReading
from planking.port_starboard import sides

NAMES = tuple(f"S{n}" for n in range(6))


def hull(side: str, by_mm: float = 0.0, *, epoch: str = "A", seed: int = 0, strakes: int = 10) -> Opening:
    draw = np.random.default_rng(seed)
    rows = tuple(
        Strake(str(n), "wale", dict.fromkeys(NAMES, 5.0), state="hung", hung_order=99 - n)
        for n in range(strakes)
    )
    widths = tuple(
        WidthReading(one.label, name, 5.0 + by_mm + (0.02 * float(draw.normal()) if seed else 0.0), epoch)
        for one in rows
        for name in NAMES
    )
    epochs = (Epoch("A", "caliper A", 0.02, 0.05), Epoch("B", "caliper B", 0.02, 0.05))
    return Opening(side, tuple(map(Station, NAMES)), rows, widths=widths, epochs=epochs)


def test_one_caliper_on_both_sides_cancels_its_zero() -> None:
    found = sides(hull("port"), hull("starboard"))

    assert found.largest.apart_mm == 0.0
    assert found.largest.u_mm == pytest.approx(0.02 * math.sqrt(2 * found.largest.strakes))
    assert not found.seen


def test_two_calipers_leave_both_zeros_in_the_doubt() -> None:
    found = sides(hull("port"), hull("starboard", epoch="B"))

    count = found.largest.strakes
    assert found.largest.u_mm == pytest.approx(math.sqrt(2 * count * 0.02**2 + 2 * (count * 0.05) ** 2))


def test_a_side_cut_wide_is_seen_and_the_hand_told() -> None:
    found = sides(hull("port", 0.12), hull("starboard"))

    # Ten strakes of 0.12: 1.20 apart at the tenth seam; the ends forgive 0.3.
    assert found.seen
    assert found.largest.apart_mm == pytest.approx(1.2)
    assert found.largest.station in ("S0", "S5")
    assert found.hands_differ
    assert "port stands further in" in found.sentence
    assert "Port is cut wider, about 0.12 a strake." in found.sentence


def test_difference_the_eye_forgives_is_not_told_as_seen() -> None:
    found = sides(hull("port", 0.02), hull("starboard"))

    assert not found.seen
    assert found.sentence.startswith("The seams agree to the eye")


def test_noise_alone_is_not_seen() -> None:
    seen = sum(sides(hull("port", seed=2 * n + 1), hull("starboard", seed=2 * n + 2)).seen for n in range(60))

    assert seen == 0


def test_counts_that_differ_are_always_told() -> None:
    found = sides(hull("port"), hull("starboard", strakes=9))

    assert [(one.station, one.port, one.starboard) for one in found.counts] == [
        (name, 10, 9) for name in NAMES
    ]
    assert "port has 10 strakes and starboard 9" in found.sentence


def test_closing_strakes_that_differ_by_more_than_a_tenth_are_named() -> None:
    port, starboard = hull("port"), hull("starboard")
    closing = tuple(replace(one, run="closing") if one.label == "0" else one for one in port.strakes)
    wide = tuple(
        replace(one, width_mm=5.6) if (one.strake, one.station) == ("0", "S2") else one for one in port.widths
    )

    found = sides(replace(port, strakes=closing, widths=wide), replace(starboard, strakes=closing))

    assert [(name, round(apart, 2)) for name, apart in found.closing_apart] == [("S2", 0.6)]
