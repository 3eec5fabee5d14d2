"""Readings that do not agree: seams too thin to be true, gaps against widths, and one figure that stands
out."""

from dataclasses import replace

import pytest

from planking import estimate
from planking.agreement import latest_gaps_apart, slips_along
from planking.drift import review
from planking.opening import Opening
from tests.planking.brig import brig


def kinds(opening: Opening) -> list[str]:
    return [note.kind for note in review(opening).notes]


def test_the_brig_corrected_has_nothing_to_quarrel_about() -> None:
    assert not {"too_good", "disagreement", "slip"} & {*kinds(brig("port")), *kinds(brig("starboard"))}


def test_the_brig_as_read_has_seams_too_good_to_be_true() -> None:
    # Invented sample: caliper A was zeroed on a crumb, so strakes 3 and 4 read 0.08 more than they are.
    told = [note for note in review(brig("port", corrected=False)).notes if note.kind == "too_good"]

    assert [note.sentence for note in told] == [
        "Left over 0.04 over 13 seams at D is less than your test joints allow (0.18), and so over all "
        "stations together: check the instrument on a block."
    ]


def shifted(opening: Opening, by_mm: float, *stations: str) -> Opening:
    gaps = [replace(one, gap_mm=one.gap_mm + by_mm * (one.station in stations)) for one in opening.gaps]
    return replace(opening, gaps=tuple(gaps))


def test_one_gap_far_off_is_told_as_one_station_to_read_again() -> None:
    found = review(shifted(brig("starboard"), -0.9, "H")).notes

    told = [note for note in found if note.kind in ("disagreement", "slip")]
    assert told
    assert all("H" in note.sentence for note in told)


@pytest.mark.parametrize(("by_mm", "word"), [(-0.6, "smaller"), (0.9, "larger")])
def test_gaps_that_differ_from_widths_everywhere_say_how_much_a_seam_and_why(by_mm: float, word: str) -> None:
    opening = brig("starboard")
    everywhere = tuple(one.name for one in opening.stations)
    sure = replace(
        shifted(opening, by_mm, *everywhere),
        epochs=tuple(replace(one, u_zero_mm=0.001) for one in opening.epochs),
    )

    told = [note for note in review(sure).notes if note.kind == "disagreement"]

    assert len(told) == 1
    assert word in told[0].sentence
    assert "a seam" in told[0].sentence
    assert "a block tells which" in told[0].sentence


def test_apart_is_the_gap_less_what_all_else_foretells() -> None:
    opening = brig("starboard")
    before, _ = latest_gaps_apart(estimate.ledger(opening))

    after, mean = latest_gaps_apart(estimate.ledger(shifted(opening, 0.1, "D", "H")))

    # What the others foretell does not move when these readings do.
    moved = {one.station: one.apart_mm - other.apart_mm for one, other in zip(after, before, strict=True)}
    assert moved == pytest.approx(
        {one.station: 0.1 if one.station in "DH" else 0.0 for one in after}, abs=1e-9
    )
    assert [one.u_mm for one in after] == pytest.approx([one.u_mm for one in before])
    assert mean.apart_mm == pytest.approx(sum(one.apart_mm for one in after) / 11)
    assert mean.u_mm < max(one.u_mm for one in after)


def slipped(by_mm: float) -> Opening:
    opening = brig("port")
    return replace(
        opening,
        widths=tuple(
            replace(one, width_mm=one.width_mm + by_mm) if (one.strake, one.station) == ("13", "D") else one
            for one in opening.widths
        ),
    )


def test_a_slip_along_a_strake_is_told_once_with_its_size() -> None:
    told = slips_along(slipped(0.3))

    assert [(note.strakes, note.stations) for note in told] == [(("13",), ("D",))]
    assert told[0].value_mm == pytest.approx(0.3, abs=0.03)
    assert "Strake 13 at D reads 0.3" in told[0].sentence
    assert "more than its neighbours" in told[0].sentence


def test_no_slip_is_found_where_none_was_made() -> None:
    assert slips_along(brig("port")) == ()
    assert slips_along(brig("starboard")) == ()


def test_wide_scatter_asks_for_the_last_strakes_to_be_trimmed() -> None:
    opening = brig("starboard")
    shaken = replace(
        opening,
        widths=tuple(
            replace(one, width_mm=one.width_mm + (0.2 if int(one.strake) % 2 else -0.2))
            for one in opening.widths
        ),
        gaps=(),
        girths=(),
    )

    assert "scatter" in kinds(shaken)
    assert "scatter" not in kinds(brig("starboard"))
