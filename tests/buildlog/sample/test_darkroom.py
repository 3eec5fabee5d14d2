"""The darkroom: the pictures come out again, the hull in them is the plan's, and the bow is at the right."""

import numpy as np
import pytest
from PIL import Image

from buildlog.sample import album, hull
from buildlog.sample.darkroom import FOLDER, pictures
from buildlog.sample.darkroom.__main__ import picture
from buildlog.sample.darkroom.vessel import LET_INTO, Vessel

SIZE = (1600, 1120)


@pytest.fixture
def unplanked(monkeypatch):
    """Leave the surfaces out: these tests ask only where the camera stands."""
    monkeypatch.setattr(Vessel, "put", lambda self, meshes, **more: None)


def shown(scene, frame, share, out=1.3):
    x, y, _depth = scene.view.shown(scene.vessel.place(frame, share, out)[None])[0]
    return x / SIZE[0], y / SIZE[1]


def seam(vessel, frame, label, *, wale_side):
    return float(np.interp(frame, vessel.fine, vessel.edge(label, wale_side=wale_side)))


def middle_of(vessel, frame, label):
    return (seam(vessel, frame, label, wale_side=True) + seam(vessel, frame, label, wale_side=False)) / 2


@pytest.mark.parametrize("name", ["bilge-gap", "caliper-check", "from-the-bow"])
def test_the_code_still_makes_the_pictures_that_are_kept(name):
    made = picture(name, wide=320, finer=1).convert("RGB").resize((80, 56), Image.Resampling.BOX)
    with Image.open(FOLDER / f"{name}.jpg") as kept:
        kept = np.asarray(kept.convert("RGB").resize((80, 56), Image.Resampling.BOX), dtype=float)

    assert np.abs(np.asarray(made, dtype=float) - kept).mean() < 5


def test_the_same_code_makes_the_same_picture():
    first, second = (picture("slate", wide=160, finer=1) for _time in range(2))

    assert first.tobytes() == second.tobytes()


@pytest.mark.usefixtures("unplanked")
@pytest.mark.parametrize(
    "name", ["girth-strip", "drop-strake", "garboard", "stealer", "bilge-gap", "starboard-gap", "clamped", "last-gap",
             "closing-dry", "scraped", "closed", "battens", "from-the-bow"],
)  # fmt: skip
def test_the_bow_is_at_the_right_and_the_keel_where_the_side_puts_it(name):
    """From outside with the bow at the right, port has its keel side uppermost and starboard lowermost."""
    scene = pictures.PICTURES[name](SIZE)
    side = next(one.side for one in album.ALBUM if one.file == name)

    (aft, _y), (fore, _y2) = shown(scene, 3, 0.4), shown(scene, -3, 0.4)
    (_x, keel), (_x2, wale) = shown(scene, -10, 0.25), shown(scene, -10, 0.55)

    assert scene.vessel.side == side
    assert fore > aft
    assert keel < wale if side == "port" else keel > wale


@pytest.mark.usefixtures("unplanked")
def test_numbered_marks_point_at_what_their_words_say():
    gap, drop, stern = (pictures.PICTURES[name](SIZE) for name in ("bilge-gap", "drop-strake", "stealer"))
    places = {
        ("bilge-gap", 1): shown(gap, -0.2, seam(gap.vessel, 0, "10", wale_side=False)),
        ("bilge-gap", 2): shown(gap, -0.2, seam(gap.vessel, 0, "4", wale_side=True)),
        ("bilge-gap", 3): shown(gap, 3, 0.42, 0),
        ("drop-strake", 1): shown(drop, -16.9, middle_of(drop.vessel, -16.9, "12")),
        ("drop-strake", 2): shown(drop, -17.3, middle_of(drop.vessel, -17.3, "13")),
        ("stealer", 1): shown(stern, 17.5, middle_of(stern.vessel, 17.5, "3a")),
        ("stealer", 2): shown(stern, 16.5, middle_of(stern.vessel, 16.5, "4")),
    }

    drawn = {(one.file, mark["n"]): (mark["to_x"], mark["to_y"]) for one in album.ALBUM for mark in one.drawn}
    off = {key: np.hypot(drawn[key][0] - x, drawn[key][1] - y) for key, (x, y) in places.items()}
    assert {key: round(far, 3) for key, far in off.items() if far > 0.03} == {}


def test_strakes_of_the_drawn_hull_are_as_wide_as_the_plan_says():
    vessel = Vessel("port", [])
    off = []
    for strake, widths in zip(vessel.planned, vessel.widths, strict=True):
        for station, inches in strake.widths_in.items():
            drawn = float(widths[(hull.STATIONS[station] + 18) * 60])
            off.append((strake.label, station, abs(drawn - float(inches))))

    assert len(off) > 190
    assert [one for one in off if one[2] > 1e-6] == []


def test_a_nib_moves_no_seam_but_its_own():
    vessel = Vessel("port", [])
    jumps = np.abs(np.diff(vessel.edges, axis=1)).max(axis=1)

    jumping = {n for n, jump in enumerate(jumps) if jump > 0.008}
    # A seam is numbered by the strake on its wale side; each nib has one, shared with what it is let into.
    assert jumping == {vessel.labels.index(neighbour) for neighbour in LET_INTO.values()}


def test_planking_is_open_where_no_strake_is_hung():
    vessel = Vessel("starboard", ["18", "1"], taken_off={"18": (-2, 2)})

    assert vessel.is_planked(np.array([8.0]), np.array([middle_of(vessel, 8.0, "18")])).all()
    assert not vessel.is_planked(np.array([0.0]), np.array([middle_of(vessel, 0.0, "18")])).any()
    assert not vessel.is_planked(np.array([0.0]), np.array([middle_of(vessel, 0.0, "9")])).any()
