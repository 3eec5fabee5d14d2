"""The letters: every file has its licence beside it, and every sign the trade needs is drawn."""

import importlib.util
import re
from pathlib import Path

import pytest
from fontTools.pens.recordingPen import RecordingPen
from fontTools.ttLib import TTFont

ROOT = Path(__file__).resolve().parents[2]
FONTS = ROOT / "static/fonts"
CSS = (ROOT / "static/css/reckoner.css").read_text(encoding="utf-8")
OWN_SIGNS = "■●◆▲▼⊗✓✕"
NEEDED = "0123456789½¼¾⅛⅜⅝⅞′″⁄−×÷±≤≥≈←→↑↓↔△▽□◇○·–—…“”‘’" + OWN_SIGNS
NAMES = "Łódź Ærøskøbing Ελλάς Корабль Žižkov Gdańsk İzmir"


def _faces() -> list[tuple[str, set[int], str]]:
    """Each @font-face of the CSS: its file, the characters it claims, its style."""
    faces = []
    for body in re.findall(r"@font-face\s*\{([^}]*)\}", CSS):
        name = re.search(r"fonts/([\w.-]+)", body)[1]
        claimed = set()
        for first, last in re.findall(r"U\+([0-9A-Fa-f]+)(?:-([0-9A-Fa-f]+))?", body):
            claimed |= set(range(int(first, 16), int(last or first, 16) + 1))
        faces.append((name, claimed, "italic" if "italic" in body else "normal"))
    return faces


FACES = _faces()


def _drawn(name: str) -> set[int]:
    return set(TTFont(FONTS / name).getBestCmap())


def _shown_by(character: str) -> str | None:
    """The file a browser would take: the last face that claims the character."""
    names = [name for name, claimed, style in FACES if ord(character) in claimed and style == "normal"]
    return names[-1] if names else None


def test_every_font_file_is_used_and_every_used_file_is_here():
    assert {name for name, _, _ in FACES} == {path.name for path in FONTS.glob("*.woff2")}


def test_the_licence_stands_beside_the_text_face():
    licence = (FONTS / "LICENSE-Ysabeau-Office.txt").read_text(encoding="utf-8")

    assert "SIL OPEN FONT LICENSE Version 1.1" in licence
    assert "The Ysabeau Project Authors" in licence
    assert "Reserved Font Name" not in licence.split("-----------")[0]


@pytest.mark.parametrize("character", sorted(set(NEEDED + NAMES) - {" "}), ids=lambda c: f"U+{ord(c):04X}")
def test_every_sign_and_letter_is_drawn_by_the_face_that_claims_it(character):
    name = _shown_by(character)

    assert name is not None
    assert ord(character) in _drawn(name)


def test_our_own_signs_win_over_those_of_the_text_face():
    assert {_shown_by(sign) for sign in OWN_SIGNS} == {"signs.woff2"}
    assert _drawn("signs.woff2") == {ord(sign) for sign in OWN_SIGNS}


def test_figures_are_all_one_width():
    font = TTFont(FONTS / "latin-normal.woff2")

    assert len({font["hmtx"][font.getBestCmap()[ord(figure)]][0] for figure in "0123456789"}) == 1


def test_the_kept_script_draws_the_signs_that_are_served():
    specification = importlib.util.spec_from_file_location("make_signs", FONTS / "make_signs.py")
    make_signs = importlib.util.module_from_spec(specification)
    specification.loader.exec_module(make_signs)

    assert _outlines(make_signs.build().font) == _outlines(TTFont(FONTS / "signs.woff2"))


def _outlines(font) -> dict[str, list]:
    glyphs, drawn = font.getGlyphSet(), {}
    for code, name in font.getBestCmap().items():
        pen = RecordingPen()
        glyphs[name].draw(pen)
        drawn[chr(code)] = pen.value
    return drawn


def test_side_signs_weigh_alike():
    """Square, disc and diamond hold the same ink to within a tenth, so that neither side looks louder."""
    areas = {sign: _area(sign) for sign in "■●◆"}

    assert max(areas.values()) / min(areas.values()) < 1.10


def _area(sign: str) -> float:
    from fontTools.pens.areaPen import AreaPen

    font = TTFont(FONTS / "signs.woff2")
    pen = AreaPen(font.getGlyphSet())
    font.getGlyphSet()[font.getBestCmap()[ord(sign)]].draw(pen)
    return abs(pen.value)
