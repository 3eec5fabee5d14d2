"""Colours: named once, legible together by day and by night, and nowhere else.

The least contrast is WCAG 2.2's: 4.5 for text (1.4.3), 3 for parts that carry meaning and for the mark of
the focus (1.4.11). The formula is that of WCAG 2.2, "relative luminance" and "contrast ratio".
"""

import gzip
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
CSS = (ROOT / "static/css/reckoner.css").read_text(encoding="utf-8")
BARE = re.sub(r"/\*.*?\*/", "", CSS, flags=re.DOTALL)

TEXT, PART = 4.5, 3.0
PAIRS = [
    *[("ink", ground, TEXT) for ground in ("ground", "sheet", "wash-2", "press", "hung")],
    *[("ink-2", ground, TEXT) for ground in ("ground", "sheet", "wash-2", "press", "hung")],
    ("on-wash", "wash", TEXT),
    ("sheet", "ink", TEXT),
    *[(text, ground, TEXT) for text in ("wide-t", "narrow-t") for ground in ("sheet", "ground", "wash-2")],
    ("on-plank", "plank", TEXT),
    *[("edge", ground, PART) for ground in ("ground", "sheet")],
    *[("ink", fill, PART) for fill in ("w1", "w2", "w3", "n1", "n2", "n3")],
    *[(mark, "sheet", PART) for mark in ("wide", "narrow", "plank")],
    ("plank", "ground", PART),
]


def _blocks() -> dict[str, dict[str, str]]:
    """The tokens of each :root block that stands before the paper's."""
    screen = BARE[: BARE.index("@media print")]
    found = re.findall(r"(:root[^{]*)\{([^}]*)\}", screen)
    return {name.strip(): dict(re.findall(r"--([\w-]+):\s*(#[0-9a-f]{6})", body)) for name, body in found}


BLOCKS = _blocks()
LIGHT = BLOCKS[":root"]
DARK = BLOCKS[':root[data-theme="dark"]']


def _luminance(colour: str) -> float:
    parts = [int(colour[start : start + 2], 16) / 255 for start in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    bright, dim = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (bright + 0.05) / (dim + 0.05)


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [("#ffffff", "#000000", 21.0), ("#ffffff", "#ffffff", 1.0), ("#767676", "#ffffff", 4.54)],
    ids=["black on white", "nothing to see", "the grey that WCAG's own texts give as just enough (memory)"],
)
def test_contrast_gives_known_ratios(one, other, ratio):
    assert contrast(one, other) == pytest.approx(ratio, abs=0.005)


@pytest.mark.parametrize("tokens", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize(("one", "other", "least"), PAIRS, ids=lambda value: str(value))
def test_every_pair_in_use_can_be_read(tokens, one, other, least):
    assert contrast(tokens[one], tokens[other]) >= least


@pytest.mark.parametrize("tokens", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("ground", ["ground", "sheet"])
def test_the_yellow_has_an_edge_that_is_seen(tokens, ground):
    """By day the ink outline is seen against both; by night the yellow itself stands out."""
    assert contrast(tokens["wash-edge"], tokens[ground]) >= PART


def test_dark_is_the_same_by_the_phone_and_by_choice():
    by_phone = BLOCKS[':root:not([data-theme="light"])']

    assert by_phone == DARK
    assert set(DARK) == set(LIGHT)


def test_every_token_used_is_named():
    used = set(re.findall(r"var\(--([\w-]+)", BARE))

    assert used - set(LIGHT) == set()
    assert set(LIGHT) - used == set()


def test_no_rule_names_a_colour_of_its_own():
    rules = re.sub(r":root[^{]*\{[^}]*\}", "", BARE)
    values = " ".join(re.findall(r":\s*([^;{}]+)", re.sub(r"url\([^)]*\)|unicode-range:[^;]*;", "", rules)))

    assert (
        re.findall(r"#[0-9a-fA-F]{3,8}\b|\b(?:rgba?|hsla?|oklch|oklab|lab|lch|color|color-mix)\(", values)
        == []
    )
    assert (
        re.findall(r"\b(?:black|white|red|green|blue|gr[ae]y|yellow|orange|silver|navy|teal)\b", values) == []
    )


def test_the_browsers_own_bar_has_the_colour_of_the_sheet():
    shown = (ROOT / "templates/parts/_theme_colour.html").read_text(encoding="utf-8")
    manifest = (ROOT / "static/img/reckoner.webmanifest").read_text(encoding="utf-8")

    assert set(re.findall(r"#[0-9a-f]{6}", shown)) == {LIGHT["sheet"], DARK["sheet"]}
    assert set(re.findall(r"#[0-9a-f]{6}", manifest)) == {LIGHT["sheet"], LIGHT["ground"]}


def test_paper_is_black_on_white():
    paper = BARE[BARE.index("@media print") :]
    tokens = dict(re.findall(r"--([\w-]+):\s*(#[0-9a-f]{3,6})", paper))

    assert set(tokens) == set(LIGHT)
    assert (tokens["ink"], tokens["ink-2"], tokens["sheet"], tokens["wash"]) == (
        "#000",
        "#000",
        "#fff",
        "#fff",
    )


def test_the_whole_look_is_light_to_fetch():
    assert len(gzip.compress(CSS.encode(), 6)) < 16 * 1024


def test_nothing_is_rounded_but_rings_and_dots():
    rounded = re.findall(r"([^{}]*)\{[^{}]*border-radius:\s*(?!0|\s)[^{}]*\}", BARE)

    assert sorted(selector.strip() for selector in rounded) == [".waiting-dot", ".warning-ring"]
