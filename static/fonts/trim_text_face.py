"""Trim Ysabeau Office to what the pages use: python trim_text_face.py FILES [FOLDER]

FILES is the folder `files` of the npm package @fontsource-variable/ysabeau-office 5.3.0 (SIL Open Font
License 1.1, no reserved font name; its licence is LICENSE-Ysabeau-Office.txt here). Weights are kept from
500 to 800, the only ones the pages set; from its mathematics and symbols files only the marks named here.
Needs fontTools and brotli (tests/requirements.txt).
"""

import sys
from pathlib import Path

from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont
from fontTools.varLib.instancer import instantiateVariableFont

MARKS = {"math": "←→↔≤≥≈Ωμ∆∑√∞", "symbols": "⅐⅑⅒⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞□◇○△▽"}
WHOLE = {
    "latin": ("normal", "italic"),
    "latin-ext": ("normal",),
    "cyrillic": ("normal",),
    "greek": ("normal",),
}


def trim(source, target, text=None):
    """Write one file with weights 500 to 800, and with no more than the characters of text."""
    font = TTFont(source)
    instantiateVariableFont(font, {"wght": (500, 500, 800)}, inplace=True)
    if text:
        options = Options(layout_features=["kern", "mark"], notdef_outline=False)
        subsetter = Subsetter(options)
        subsetter.populate(text=text)
        subsetter.subset(font)
    font.flavor = "woff2"
    font.save(target)


if __name__ == "__main__":
    files = Path(sys.argv[1])
    folder = Path(sys.argv[2]) if len(sys.argv) > 2 else Path(__file__).parent
    for subset, styles in WHOLE.items():
        for style in styles:
            trim(files / f"ysabeau-office-{subset}-wght-{style}.woff2", folder / f"{subset}-{style}.woff2")
    for subset, text in MARKS.items():
        trim(files / f"ysabeau-office-{subset}-wght-normal.woff2", folder / f"{subset}-normal.woff2", text)
