"""Widths of words against the font file itself."""

from pathlib import Path

import pytest

from buildlog.pictures.text_widths import ADVANCES, elided, one_line, width_of, wrapped

FONTS = Path(__file__).parents[3] / "static" / "fonts"


def advances_of(name, weight):
    from fontTools.ttLib import TTFont
    from fontTools.varLib.instancer import instantiateVariableFont

    font = TTFont(FONTS / name)
    if "fvar" in font:
        font = instantiateVariableFont(font, {"wght": weight})
    em = font["head"].unitsPerEm
    return {chr(code): font["hmtx"][glyph][0] * 1000 / em for code, glyph in font.getBestCmap().items()}


@pytest.mark.parametrize(
    "name", ["latin-normal.woff2", "signs.woff2", "math-normal.woff2", "symbols-normal.woff2"]
)
@pytest.mark.parametrize("weight", [500, 600, 700, 800])
def test_no_sign_of_the_font_is_wider_than_was_reckoned(name, weight):
    drawn = advances_of(name, weight)

    # The vendored file rounds some figures up by one.
    # ■ ● ◆ ▲ ▼ come from our own signs, which the style sheet puts before the text face.
    ours = set("■●◆▲▼⊗✓✕") if name != "signs.woff2" else set()
    wider = {
        s: (w, ADVANCES[s])
        for s, w in drawn.items()
        if s in ADVANCES and s not in ours and w > ADVANCES[s] + 1.5
    }
    assert wider == {}
    assert drawn


def test_widths_are_not_reckoned_much_too_wide():
    drawn = advances_of("latin-normal.woff2", 600)

    words = "Diminishing belt, short by 0.40 at D"
    assert width_of(words, 1000) <= 1.06 * sum(drawn[sign] for sign in words)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("  two\twords\n", "two words"),
        ("a\x00b\x07", "a b"),
        ("\u202ebackwards", "backwards"),
        ("\ud800", ""),
        (12, "12"),
        ("8 5⁄16″", "8 5⁄16″"),
    ],
)
def test_one_line_keeps_what_can_be_read(words, said):
    assert one_line(words) == said


@pytest.mark.parametrize("room", [0, 10, 40, 100, 400])
def test_elided_words_never_take_more_than_their_room_but_for_the_ellipsis(room):
    shown = elided("Bulkhead twenty-three", 13.5, room)

    assert width_of(shown, 13.5) <= max(room, width_of("…", 13.5))
    assert shown == "Bulkhead twenty-three" or shown.endswith("…")


def test_wrapped_words_are_all_there_and_no_line_is_too_wide():
    words = "off plan by 0.03, 0.06, 0.09 mm or more; plain below that"

    lines = wrapped(words, 13.5, 150)

    assert " ".join(lines) == words
    assert all(width_of(line, 13.5) <= 150 for line in lines)
